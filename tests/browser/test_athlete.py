"""The athlete's page as a physio meets it in a browser."""

import re

import pytest
from playwright.sync_api import expect

MARK = "[aria-roledescription='point']"


def tip_date(text):
    return text.split(",")[0]


def drawn(page):
    expect(page.locator("#chart.drawn")).to_be_visible()
    return page.locator("#chart .canvas")


def test_the_charts_show_levels_bands_and_the_three_standings(open_page):
    chart = drawn(open_page("/athletes/MB-07").page)
    for name in ("squeeze", "spread"):
        for standing in ("counts", "at_least", "set_aside"):
            assert chart.locator(f".{name}_{standing}_marks {MARK}").count() > 0, (name, standing)
    assert chart.locator("[aria-roledescription='area mark']").count() > 0
    assert chart.locator("[aria-roledescription='line mark']").count() > 0


def test_pointing_at_a_mark_tells_its_standing_and_reason(open_page):
    page = open_page("/athletes/MB-07").page
    chart = drawn(page)
    chart.locator(f".squeeze_at_least_marks {MARK}").last.hover(force=True)
    tip = page.locator("#chart .tip")
    expect(tip).to_contain_text("at least")
    expect(tip).to_contain_text("Planned at")


def test_a_click_on_a_mark_leads_to_its_set_in_the_ledger(open_page):
    page = open_page("/athletes/MB-07").page
    mark = drawn(page).locator(f".squeeze_counts_marks {MARK}").last
    day = tip_date(mark.get_attribute("aria-label"))
    mark.click(force=True)
    expect(page.locator(".ledger > li:target")).to_contain_text(day)


def test_the_arrow_keys_read_the_marks_one_by_one_and_enter_opens_the_ledger(open_page):
    page = open_page("/athletes/MB-07").page
    drawn(page)
    page.locator("#chart").focus()
    page.keyboard.press("ArrowRight")
    tip = page.locator("#chart .tip")
    expect(tip).to_be_visible()
    first = tip.inner_text()
    page.keyboard.press("ArrowRight")
    expect(tip).not_to_have_text(first)
    page.keyboard.press("Escape")
    expect(tip).to_be_hidden()
    page.keyboard.press("Home")
    expect(tip).to_have_text(first)
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"#set-[0-9a-f]{12}$"))
    expect(page.locator(".ledger > li:target")).to_contain_text(tip_date(first))


def test_the_ledger_gives_every_reason_in_words(open_page):
    page = open_page("/athletes/MB-07?standing=set_aside").page
    entries = page.locator(".ledger > li")
    assert entries.count() > 0
    for entry in entries.all():
        expect(entry).to_contain_text("set aside")
        assert entry.locator(".why").count() > 0


def test_the_ledger_filters_by_standing_and_turns_its_pages(open_page):
    page = open_page("/athletes/MB-07").page
    page.get_by_role("link", name="Older").click()
    expect(page.get_by_text("page 2 of")).to_be_visible()
    page.get_by_role("link", name="at least", exact=True).click()
    for entry in page.locator(".ledger > li").all():
        expect(entry).to_contain_text("at least")


def test_a_set_opens_to_its_reps(open_page):
    page = open_page("/athletes/MB-07").page
    entry = page.locator(".ledger > li").first
    entry.locator("summary").click()
    expect(entry.locator("tbody tr").first).to_contain_text(re.compile("squeeze|spread"))


def test_the_page_has_position_balance_pain_and_load(open_page):
    page = open_page("/athletes/MB-22").page
    expect(page.get_by_role("region", name="Standard position")).to_contain_text("bar height")
    balance = page.get_by_role("region", name="Balance")
    expect(balance).to_contain_text(re.compile(r"Squeeze ÷ spread, left\s*\d\.\d\d\s*\d\.\d\d to \d\.\d\d"))
    expect(balance).to_contain_text("of stronger")
    expect(page.get_by_role("region", name="Pain, last stated")).to_contain_text("of 10")
    expect(page.get_by_role("region", name="Load by week")).to_contain_text(re.compile(r"\d{4}-W\d\d"))
    expect(page.get_by_role("region", name="Periods")).to_contain_text("rehabilitation")


def test_somebody_who_never_trains_at_maximum_has_bounds_and_no_level(open_page):
    page = open_page("/athletes/MB-11").page
    strength = page.get_by_role("region", name="Strength")
    expect(strength.locator("table")).to_contain_text("at least")
    expect(strength.locator("table")).to_contain_text("too few")
    assert drawn(page).locator(f".squeeze_at_least_marks {MARK}").count() > 0


def test_without_a_script_the_charts_are_a_picture(open_page):
    page = open_page("/athletes/MB-07", java_script_enabled=False).page
    picture = page.locator("#chart img")
    expect(picture).to_be_visible()
    answer = page.request.get(picture.evaluate("image => image.currentSrc"))
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert "squeeze left" in answer.text()


def test_the_charts_follow_the_width_of_the_window(open_page):
    page = open_page("/athletes/MB-07").page
    svg = drawn(page).locator("svg")
    wide = svg.bounding_box()["width"]
    page.set_viewport_size({"width": 820, "height": 900})
    expect(svg).not_to_have_attribute("width", str(round(wide)))
    assert svg.bounding_box()["width"] < wide


@pytest.mark.parametrize("ref", ["MB-07", "MB-11", "X.1"])
@pytest.mark.parametrize("width", [390, 820, 1440])
def test_nothing_scrolls_sideways(open_page, width, ref):
    page = open_page(f"/athletes/{ref}", width=width).page
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_dark_theme_draws_the_charts_too(open_page):
    chart = drawn(open_page("/athletes/MB-07", color_scheme="dark").page)
    assert chart.locator(f".squeeze_counts_marks {MARK}").first.get_attribute("fill") in {"#77b6ee", "#f0a75f"}


def test_hostile_texts_of_a_client_stay_texts(open_page):
    page = open_page("/athletes/X.1").page
    expect(page.get_by_role("heading", level=1)).to_have_text("<script>alert('name')</script>&\"'")
    ledger = page.get_by_role("region", name="Ledger of sets")
    expect(ledger).to_contain_text("</script><img src=x onerror=alert(1)>{{ 7 * 7 }} ]]>")
    expect(ledger).to_contain_text("<em>left</em>")
    expect(page.get_by_role("region", name="Periods")).to_contain_text("</script><script>alert('period')</script>")
    label = drawn(page).locator(f"[class*=concat_2] {MARK}").last.get_attribute("aria-label")
    assert "<em>left</em>" in label
    expect(page.locator("img[src='x']")).to_have_count(0)


def test_an_athlete_that_the_club_does_not_have_is_not_found(open_page, club):
    page = open_page("/athletes/MB-07", key=club.empty_key).page
    expect(page.get_by_role("heading", name="Not found")).to_be_visible()
    expect(page.locator("body")).not_to_contain_text("Dana")


def test_on_paper_the_ten_latest_sets_remain(open_page):
    page = open_page("/athletes/MB-07").page
    page.emulate_media(media="print")
    expect(page.locator(".ledger > li:visible")).to_have_count(10)
    expect(page.get_by_text("On paper: the ten latest.")).to_be_visible()
    expect(page.locator("footer")).to_contain_text("not a medical device")
