"""The board as a coach meets it in a browser."""

import re

import pytest
from playwright.sync_api import expect


def names(page):
    return page.locator(".board tbody tr:visible .name").all_inner_texts()


def test_every_athlete_of_the_club_has_a_row(open_page, club):
    page = open_page().page
    expect(page.locator(".board tbody tr")).to_have_count(len(club.season.athletes) + 1)
    row = page.locator(".board tbody tr", has_text="MB-07")
    expect(row).to_contain_text(re.compile(r"\d+ N"))
    expect(row).to_contain_text("falling")
    expect(row).to_contain_text(re.compile(r"\d+ readings"))


def test_attention_comes_before_the_table_as_sentences(open_page):
    page = open_page().page
    first = page.locator(".lookouts li").first
    expect(first).to_contain_text("ask a qualified clinician")
    assert first.bounding_box()["y"] < page.locator(".board").bounding_box()["y"]


@pytest.mark.parametrize(
    ("who", "words"),
    [
        ("MB-07", "Pain"),
        ("MB-15", "Pain"),
        ("MB-22", "Pain"),
        ("MB-11", "lower bounds"),
        ("MB-19", "Bar height"),
    ],
)
def test_each_planted_story_is_among_the_first_things_to_look_at(open_page, club, who, words):
    name = next(athlete["name"] for athlete in club.season.athletes if athlete["ref"] == who)
    item = open_page().page.locator(".look > .lookouts > li", has_text=name)
    expect(item).to_contain_text(words)


def test_an_athlete_in_a_break_is_not_called_overdue(open_page, club):
    name = next(athlete["name"] for athlete in club.season.athletes if athlete["ref"] == "MB-24")
    page = open_page().page
    expect(page.locator(".board tbody tr", has_text="MB-24")).to_contain_text("27 days ago")
    expect(page.locator(".look > .lookouts > li", has_text=name)).to_have_count(0)


def test_a_row_says_what_the_athlete_is_or_lately_was_away_for(open_page):
    page = open_page().page
    expect(page.locator(".board tbody tr", has_text="MB-22")).to_contain_text("rehabilitation until")
    expect(page.locator(".board tbody tr", has_text="MB-24")).to_contain_text("break since")
    expect(page.locator(".board tbody tr", has_text="MB-07").locator(".period")).to_have_count(0)


def test_the_drifting_instrument_is_named_and_leads_to_its_athletes(open_page, club):
    page = open_page().page
    page.get_by_role("link", name="Instrument F-03").click()
    expect(page).to_have_url(re.compile("q=F-03"))
    shown = page.locator(".board tbody tr:visible")
    assert 0 < shown.count() < len(club.season.athletes)
    for row in shown.all():
        expect(row).to_contain_text("F-03")


def test_a_click_on_a_column_sorts_and_a_second_turns_it_round(open_page):
    page = open_page().page
    page.get_by_role("link", name="change since baseline").first.click()
    column = page.get_by_role("columnheader", name="Squeeze level")
    expect(column).to_have_attribute("aria-sort", "ascending")
    up = names(page)
    page.get_by_role("link", name="change since baseline").first.click()
    expect(column).to_have_attribute("aria-sort", "descending")
    down = names(page)
    without = [name for name in up if name in {"Lou Brackwell", "<script>alert('name')</script>&\"'"}]
    assert up != down
    assert [name for name in down if name not in without] != [name for name in up if name not in without]
    assert up[-len(without) :] == down[-len(without) :] == without


def test_sorting_by_squeeze_change_puts_the_largest_fall_first(open_page):
    page = open_page("/?sort=squeeze-change").page
    rows = [row.locator("td.c-squeeze .ch").all_inner_texts() for row in page.locator(".board tbody tr").all()]
    known = [
        [float(text.replace("\N{MINUS SIGN}", "-").rstrip(" %")) for text in texts if "%" in text] for texts in rows
    ]
    lowest = [min(changes) for changes in known if changes]
    assert len(lowest) > 20
    assert lowest == sorted(lowest)


def test_typing_filters_at_once_and_keeps_the_address(open_page):
    page = open_page().page
    page.get_by_label("Find", exact=True).fill("driftham")
    expect(page.locator(".board tbody tr:visible")).to_have_count(1)
    expect(page.get_by_role("status")).to_have_text(re.compile("^1 of"))
    expect(page).to_have_url(re.compile(r"q=driftham"))
    page.get_by_label("Find", exact=True).fill("nobody of that name")
    expect(page.get_by_text("No athlete fits.")).to_be_visible()


def test_filters_by_role_and_state_narrow_together(open_page, club):
    page = open_page().page
    page.get_by_label("Role", exact=True).select_option("back")
    backs = page.locator(".board tbody tr:visible").count()
    assert backs == sum(athlete["role"] == "back" for athlete in club.season.athletes)
    page.get_by_label("State of any side").select_option("falling")
    for row in page.locator(".board tbody tr:visible").all():
        expect(row).to_contain_text("falling")
        expect(row).to_contain_text("back")
    assert 0 < page.locator(".board tbody tr:visible").count() < backs


def test_the_board_works_without_a_script(open_page):
    page = open_page("/?role=wing&sort=pain", java_script_enabled=False).page
    shown = page.locator(".board tbody tr:not([hidden])")
    assert shown.count() > 0
    for row in shown.all():
        expect(row).to_contain_text("wing")
    page.get_by_label("Find", exact=True).fill("MB-15")
    page.get_by_role("button", name="Show").click()
    expect(page.locator(".board tbody tr:not([hidden])")).to_have_count(1)


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_nothing_scrolls_sideways(open_page, width):
    page = open_page(width=width).page
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_header_stays_while_the_rows_move(open_page):
    page = open_page().page
    page.locator(".board tbody tr").last.scroll_into_view_if_needed()
    header = page.get_by_role("columnheader", name="Last reading")
    assert header.bounding_box()["y"] == 0


def test_the_keyboard_alone_leads_from_the_top_to_an_athlete(open_page):
    page = open_page().page
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator(".lookouts a").first).to_be_focused()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/athletes/MB-\d\d$"))


def test_a_hostile_name_and_role_are_text(open_page):
    page = open_page().page
    row = page.locator(".board tbody tr", has_text="X.1")
    expect(row.locator(".name")).to_have_text("<script>alert('name')</script>&\"'")
    expect(row).to_contain_text("<b>wing</b>")
    expect(page.get_by_label("Role", exact=True)).to_contain_text("<b>wing</b>")


def test_a_club_without_athletes_is_told_how_to_begin(open_page, club):
    page = open_page(key=club.empty_key).page
    expect(page.get_by_role("heading", name="No athletes yet")).to_be_visible()
    expect(page.locator("pre").first).to_contain_text(f"curl {club.url}/v1/athletes")
    expect(page.locator("body")).not_to_contain_text("MB-07")


def test_every_part_of_the_page_says_what_it_is_not(open_page):
    expect(open_page().page.locator("footer")).to_contain_text("not a medical device")
