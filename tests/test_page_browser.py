"""The page in a real browser: a knife designed from a starting point without touching a file. Skipped, and said so, where
playwright's client or Debian's chromium is missing."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest

from tests.browsing import IN_A_BROWSER, Shop, rewrite, shades, start

pytestmark = IN_A_BROWSER


def test_a_knife_is_designed_from_a_starting_point_without_touching_a_file(shop: Shop) -> None:
    window = start(shop)
    assert shop.recipe("petty.toml")["title"] == "Harbour petty"
    # Steel: one more plate, then taken back.
    plates = len(shop.recipe("petty.toml")["bar"][0]["stack"])
    window.get_by_role("button", name="Lay one more plate on top").click()
    shop.until(f"document.querySelectorAll('.plates li').length === {plates + 1}")
    window.get_by_role("button", name="Take back").click()
    shop.until(f"document.querySelectorAll('.plates li').length === {plates}")
    # Forge: a step put in by its name, and a refusal beside its field.
    shop.room("Forge")
    window.get_by_role("button", name="Add a step").click()
    window.click("[data-verb=trim]")
    shop.until("[...document.querySelectorAll('.step h3')].at(-1).textContent === 'trim'")
    steps = shop.recipe("petty.toml")["bar"][0]["step"]
    assert steps[-1]["do"] == "trim"
    window.locator(f"[data-path='change.0.{len(steps) - 1}']").click()
    field = window.locator("dialog input").first
    field.fill("5")
    field.press("Tab")
    window.wait_for_selector("dialog input[aria-invalid=true]")
    assert "a number without a unit" in window.locator("dialog .wrong").first.inner_text()
    field.fill("5 mm")
    field.press("Tab")
    shop.until(
        "document.querySelector('.step:nth-last-of-type(2) .row').textContent !== '' && !document.querySelector('[aria-invalid]')"
    )
    window.wait_for_timeout(1500)
    window.get_by_role("button", name="Close").click()
    assert shop.recipe("petty.toml")["bar"][0]["step"][-1]["each_end"] == "5 mm"
    # Blade: dragged by key, drawn, kept.
    shop.room("Blade")
    slider = window.locator("[data-shape='spine middle']")
    slider.focus()
    before = shop.recipe("petty.toml")["blade"]["spine"]["middle"]
    slider.press("ArrowRight")
    shop.until(
        "document.querySelector('.table img').dataset.quality === 'drag' || document.querySelector('.table img').dataset.wish > 1"
    )
    window.click("#keep")
    window.get_by_text("Kept in the recipe").wait_for()
    assert shop.recipe("petty.toml")["blade"]["spine"]["middle"] != before
    # Fire and bench.
    shop.room("Fire")
    window.wait_for_selector(".firecard dt")
    assert "Harden" in window.locator(".firecard").inner_text()
    shop.room("Bench")
    window.wait_for_selector(".nextcard .big")
    window.fill("#note", "after stack went well")
    window.get_by_role("button", name="Into the book").click()
    window.wait_for_selector(".notes li")
    for key in ("3", "point", "1"):
        window.get_by_role("button", name=key, exact=True).click()
    window.click("#addstation")
    window.click("#reckon")
    window.wait_for_selector(".benchroom table")
    assert [one for one in shop.faults if "422" not in one] == []


def test_a_spot_of_the_face_is_followed_back(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    window.wait_for_selector(".table img[data-quality=settled]")
    box = window.locator(".table img").bounding_box()
    window.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.22 * box["height"])
    window.wait_for_selector(".spot h3")
    assert "from the bottom of the first stack" in window.locator(".spot").inner_text()
    assert shop.faults == []


def test_the_pattern_is_shown_as_it_is_ground_deeper(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    window.get_by_text("As it is ground deeper").click()
    window.wait_for_selector(".strip img")
    shop.until("[...document.querySelectorAll('.strip img')].every((one) => one.complete && one.naturalWidth > 100)")
    words = window.locator(".strip figcaption").all_inner_texts()
    assert len(words) >= 3 and len(set(words)) == len(words)
    first, last = (shades(window.locator(".strip img").nth(k).screenshot())[:60, :280] for k in (0, -1))
    assert np.mean(np.abs(first - last) > 20) > 0.02
    assert shop.faults == []


def test_two_versions_lie_under_one_slider(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    slider = window.locator("[data-shape='spine heel']")
    slider.focus()
    for _ in range(6):
        slider.press("ArrowRight")
    window.click("#keep")
    window.get_by_text("Kept in the recipe").wait_for()
    window.get_by_text("Beside an earlier version").click()
    divide = window.get_by_label("how much of the earlier version is shown")
    divide.wait_for()
    shop.until("[...document.querySelectorAll('.split img')].every((one) => one.complete && one.naturalWidth > 100)")
    shown = []
    for share in ("0", "100"):
        divide.fill(share)
        shown.append(shades(window.locator(".split").screenshot()))
    assert np.mean(np.abs(shown[0] - shown[1]) > 20) > 0.002
    assert shop.faults == []


def test_a_slider_moved_while_a_save_is_under_way_stays_where_it_is(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    slider = window.locator("[data-shape='spine middle']")
    slider.focus()
    slider.press("ArrowLeft")
    held: list[Any] = []
    window.route("**/api/edit", lambda route: held.append(route))
    window.click("#keep")
    window.wait_for_timeout(300)
    slider.focus()
    for _ in range(4):
        slider.press("ArrowLeft")
    wanted = slider.input_value()
    assert len(held) == 1
    held[0].continue_()
    window.get_by_text("Kept in the recipe").wait_for()
    window.wait_for_selector("[data-shape='spine middle']")
    assert window.locator("[data-shape='spine middle']").input_value() == wanted
    assert shop.faults == []


def test_a_slider_moved_while_a_step_is_saved_stays_where_it_is(shop: Shop) -> None:
    window = start(shop)
    shop.room("Forge")
    held: list[Any] = []
    window.route("**/api/edit", lambda route: held.append(route))
    window.locator("[data-path='change.0.0']").click()
    soak = window.locator("dialog [data-path$='.soak']").first
    soak.fill("11 min")
    soak.press("Tab")
    window.wait_for_timeout(300)
    window.keyboard.press("Escape")
    shop.room("Blade")
    slider = window.locator("[data-shape='spine middle']")
    slider.focus()
    for _ in range(4):
        slider.press("ArrowLeft")
    wanted = slider.input_value()
    with window.expect_response("**/api/shapes*"):  # asked for by the room drawn anew
        held.pop().continue_()
    shop.until(f"document.querySelector('[data-shape=\"spine middle\"]')?.value === {wanted!r}")
    assert shop.recipe("petty.toml")["bar"][0]["step"][0]["soak"] == "11 min"
    assert window.locator("#keep").is_enabled() and shop.faults == []


def test_the_knife_is_turned_in_the_hand(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    window.wait_for_selector(".table img[data-quality=settled]")
    assert not [
        one for one in shop.asked if "/vendor/" in one or "/api/solid" in one
    ]  # nothing of it before it is asked for
    window.locator("#turn summary").click()
    canvas = window.locator("#turn canvas")
    canvas.wait_for(timeout=60_000)
    canvas.scroll_into_view_if_needed()
    first = shades(canvas.screenshot())
    box = canvas.bounding_box()
    window.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    window.mouse.down()
    window.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 0.6 * box["height"], steps=5)
    window.mouse.up()
    dragged = shades(canvas.screenshot())
    canvas.press("ArrowRight")
    keyed = shades(canvas.screenshot())
    assert len(np.unique(first)) > 30
    assert np.mean(np.abs(first - dragged) > 10) > 0.01 and np.mean(np.abs(dragged - keyed) > 10) > 0.005
    assert all(one.startswith((shop.address.partition("/?")[0], "blob:", "data:")) for one in shop.asked)
    assert shop.faults == []


def test_a_change_outside_is_noticed(shop: Shop) -> None:
    window = start(shop)
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    shop.until("document.getElementById('title').textContent === 'Changed by hand'")
    assert "changed outside" in window.locator("#news").inner_text()


def test_a_server_that_is_gone_is_said_and_nothing_saved_is_lost(shop: Shop) -> None:
    window = start(shop)
    window.get_by_role("button", name="Lay one more plate on top").click()
    window.wait_for_selector("#tools button:not([disabled])")
    saved = (shop.folder / "petty.toml").read_text()
    shop.close()
    window.get_by_role("button", name="Lay one more plate on top").click()
    window.get_by_text("No answer from billet").first.wait_for()
    assert (shop.folder / "petty.toml").read_text() == saved and tomllib.loads(saved)["title"] == "Harbour petty"


def test_all_can_be_done_by_keyboard(shop: Shop) -> None:
    window = start(shop)
    grip = window.locator(".grip").first
    first = shop.recipe("petty.toml")["bar"][0]["stack"]
    grip.focus()
    grip.press("ArrowDown")
    shop.until(f"document.querySelector('.plates input').value === {first[-2]!r}")
    assert shop.recipe("petty.toml")["bar"][0]["stack"][-1] == first[-2]
    unnamed = "[...document.querySelectorAll('button, input, select, textarea')].filter((e) => !(e.textContent.trim() || e.ariaLabel || e.labels?.length)).length"
    for room in ("Steel", "Forge", "Blade", "Fire", "Bench"):
        shop.room(room)
        window.wait_for_timeout(500)
        assert window.evaluate(unnamed) == 0


def test_a_step_is_moved_by_its_grip_dragged_or_by_key(shop: Shop) -> None:
    window = start(shop)
    shop.room("Forge")
    verbs = [step["do"] for step in shop.recipe("petty.toml")["bar"][0]["step"]]
    told = (
        "[...document.querySelectorAll('.step h3')].slice(1).map((one) => one.textContent.replaceAll(' ', '_')).join()"
    )
    window.locator("[data-path='grip.0.1']").focus()
    window.locator("[data-path='grip.0.1']").press("ArrowLeft")
    swapped = [verbs[1], verbs[0], *verbs[2:]]
    shop.until(f"{told} === {','.join(swapped)!r}")
    assert [step["do"] for step in shop.recipe("petty.toml")["bar"][0]["step"]] == swapped
    one, other = (window.locator(f"[data-path='grip.0.{k}']").bounding_box() for k in (0, 1))
    window.mouse.move(one["x"] + 8, one["y"] + 8)
    window.mouse.down()
    window.mouse.move(other["x"] + 8, other["y"] + 8, steps=6)
    window.mouse.up()
    shop.until(f"{told} === {','.join(verbs)!r}")
    assert [step["do"] for step in shop.recipe("petty.toml")["bar"][0]["step"]] == verbs
    assert [one for one in shop.faults if "422" not in one] == []


def test_the_rack_is_kept_a_bar_a_row_and_refused_beside_it(shop: Shop) -> None:
    window = start(shop)
    rows = window.locator(".rackrow input")
    rows.last.fill("2 of 1084 3 x 40 x 1000 mm")
    rows.last.press("Tab")
    shop.until("document.querySelectorAll('.rackrow input').length === 2")
    rows.last.fill("3 of nothing 3 x 40 mm")
    rows.last.press("Tab")
    window.wait_for_selector(".rackrow input[aria-invalid=true]")
    assert window.locator(".rack .wrong").last.inner_text()
    assert shop.recipe("petty.toml")["rack"]["bars"] == ["2 of 1084 3 x 40 x 1000 mm"]
    window.get_by_label("take bar 1 out of the rack").click()
    shop.until("document.querySelectorAll('.rackrow input').length === 1")
    assert "bars" not in shop.recipe("petty.toml").get("rack", {})


def test_the_fire_card_says_its_cautions_in_words(shop: Shop) -> None:
    window = start(shop)
    shop.room("Fire")
    window.wait_for_selector(".firecard dt")
    # The words are the server's own; the page must show each of the first three, whole, on the card itself.
    asked = "fetch('/api/fire?file=petty.toml').then((r) => r.json()).then((f) => f.cautions.slice(0, 3))"
    cautions = window.evaluate(asked)
    assert cautions and window.locator(".firecard .caution").all_inner_texts() == cautions


def test_the_charts_stand_on_whole_figures(shop: Shop) -> None:
    window = start(shop)
    shop.room("Fire")
    window.wait_for_selector(".chart")
    told = "[...document.querySelectorAll('.chart')].map((c) => [...c.querySelectorAll('.tick')].slice(0, 3).map((t) => t.textContent))"
    for low, middle, high in ([float(word) for word in chart] for chart in window.evaluate(told)):
        assert 2 * middle == pytest.approx(low + high, abs=1e-9) and high > low


@pytest.mark.parametrize("room", ["Steel", "Forge", "Blade", "Fire", "Bench"])
def test_no_room_shows_a_program_s_own_words(shop: Shop, room: str) -> None:
    window = start(shop)
    shop.room(room)
    window.wait_for_timeout(1000)
    seen = window.locator("body").inner_text()
    assert [word for word in ("[object", "undefined", "NaN") if word in seen] == []
