"""What every page and file leaves with: a strict policy, no keeping of data, long keeping of what never changes."""

import hashlib
import re

import pytest

from stillset_service.auth.scopes import Scope
from stillset_service.pages import addresses

VENDOR = addresses.STATIC_FOLDER / "vendor"


def directives(answer):
    parts = answer.headers["content-security-policy"].split("; ")
    return dict(part.partition(" ")[::2] for part in parts)


@pytest.mark.parametrize("path", ["/", "/login", "/athletes/nobody"])
def test_the_policy_permits_only_what_the_service_itself_sends(visitor, new_key, path):
    answer = visitor.get(path, headers={"Authorization": f"Bearer {new_key()}"})
    policy = directives(answer)
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers["cache-control"] == "private, no-store"


@pytest.mark.parametrize("path", ["/", "/login"])
def test_no_page_holds_inline_script_or_style(visitor, new_key, path):
    text = visitor.get(path, headers={"Authorization": f"Bearer {new_key(*Scope)}"}).text
    assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", text)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))


def test_no_template_brings_inline_script_or_style():
    folder = addresses.STATIC_FOLDER.parent / "templates"
    templates = list(folder.iterdir())
    assert templates
    for template in templates:
        text = template.read_text("utf-8")
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text), template.name
        for tag in re.findall(r"<script[^>]*>", text):
            assert "src=" in tag or 'type="application/json"' in tag, template.name


def test_a_static_file_is_kept_for_ever_under_the_digest_of_its_content(visitor):
    answer = visitor.get(addresses.static("stillset.css"))
    assert answer.status_code == 200
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-type"].startswith("text/css")
    assert visitor.get(f"/static/{'0' * 12}/stillset.css").status_code == 404


@pytest.mark.parametrize("name", ["../board.py", "%2e%2e/board.py", "vendor/../../board.py", "", "nothing.css"])
def test_nothing_but_the_static_files_is_given(visitor, name):
    answer = visitor.get(f"/static/{addresses.digest()}/{name}", follow_redirects=True)
    assert answer.status_code == 404
    assert "APIRouter" not in answer.text


def test_the_vendored_files_are_those_that_were_built():
    recorded = dict(
        reversed(line.split(maxsplit=1)) for line in (VENDOR / "SHA256SUMS").read_text("ascii").splitlines()
    )
    present = {path.name for path in VENDOR.iterdir()} - {"SHA256SUMS"}
    assert set(recorded) == present
    for name, digest in recorded.items():
        assert hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() == digest, name
