"""Signing in and out in a browser."""

import re

from playwright.sync_api import expect


def test_without_a_key_no_page_shows_data(open_page, club):
    for path in ("/", "/athletes/MB-07", "/?q=MB-07"):
        page = open_page(path, key="").page
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        expect(page.locator("body")).not_to_contain_text("Marram")
        expect(page.locator("footer")).to_contain_text("not a medical device")


def test_a_key_pasted_into_the_form_leads_back_to_the_page(open_page, club):
    page = open_page("/athletes/MB-07", key="").page
    page.get_by_label("Key").fill(club.key)
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(re.compile(r"/athletes/MB-07$"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Dana Driftham")
    (cookie,) = page.context.cookies()
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Strict"
    assert club.key not in cookie["value"]


def test_a_wrong_key_is_refused_with_a_sentence(open_page):
    page = open_page("/login", key="").page
    page.get_by_label("Key").fill("ss_0123456789ab_wrong")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_contain_text("not known here")
    assert page.context.cookies() == []


def test_signing_out_ends_the_session(open_page, club):
    page = open_page("/login", key="").page
    page.get_by_label("Key").fill(club.key)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.goto(club.url)
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
