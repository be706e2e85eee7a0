"""The page in a real browser, as a smith meets it: what is moved or half written stays, what is told stands where it is looked
for, and a thumb reaches it. Skipped like its fellow tests."""

from __future__ import annotations

import shutil
import tomllib
from typing import Any

import pytest

from render.page.edit import edited_text
from tests.browsing import DEMOS, IN_A_BROWSER, Shop, rewrite

pytestmark = IN_A_BROWSER
SLICER = "#slicer.toml/"


def at(shop: Shop, place: str, wait: str) -> Any:
    """The window with a knife's room in it."""
    window = shop.window
    window.goto(f"{window.url.partition('#')[0]}{place}")
    window.wait_for_selector(wait)
    return window


def pull(window: Any, shape: str, value: str) -> None:
    """Move a slider as a finger does."""
    window.eval_on_selector(
        f'[data-shape="{shape}"]',
        "(s, v) => { s.value = v; s.dispatchEvent(new Event('input', { bubbles: true })); }", value,
    )  # fmt: skip


def test_sliders_moved_stay_in_another_room_and_over_a_reload(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "[data-shape='spine heel']")
    before = window.locator("[data-shape='spine heel']").input_value()
    pull(window, "spine heel", "3.4")
    shop.room("Fire")
    shop.room("Blade")
    window.wait_for_selector("[data-shape='spine heel']")
    assert window.locator("[data-shape='spine heel']").input_value() == "3.4"
    window.reload()
    window.wait_for_selector("[data-shape='spine heel']")
    assert window.locator("[data-shape='spine heel']").input_value() == "3.4"
    window.get_by_role("button", name="As it was").click()
    shop.until(f"document.querySelector(\"[data-shape='spine heel']\")?.value === '{before}'")
    assert shop.faults == []


def test_what_was_kept_waits_no_longer(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "[data-shape='spine heel']")
    pull(window, "spine heel", "3.4")
    pull(window, "grind", "0.1")
    window.click("#keep")
    shop.when(lambda: tomllib.loads((shop.folder / "slicer.toml").read_text())["blade"]["spine"]["heel"] == "3.4 mm")
    shop.until(
        "document.querySelector('#keep')?.disabled && document.querySelector('[data-shape=grind]')?.value === '0.1'"
    )
    window.get_by_text("0.1 mm a face deeper").wait_for()


def test_the_bar_says_beside_the_picture_when_it_holds_the_knife_no_more(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "[data-shape='length']")
    window.locator(".holds", has_text="The bar holds the blade.").wait_for()
    pull(window, "heel_height", window.locator("[data-shape='heel_height']").get_attribute("max"))
    window.locator(".holds", has_text="The bar is too small for the blade.").wait_for()


def test_the_spot_pointed_at_is_ringed_and_a_gap_is_spoken_of_only_when_asked(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "img.face[data-quality=settled]")
    box = window.locator("img.face").bounding_box()
    x, y = box["x"] + 0.4 * box["width"], box["y"] + 0.25 * box["height"]
    window.mouse.click(x, y)
    window.get_by_text("What is this line?").wait_for()
    ring = window.locator(".ring").bounding_box()
    assert (ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2) == pytest.approx((x, y), abs=1.5)
    assert not window.get_by_text("mark its ends").is_visible()
    window.get_by_text("If the weld shows as a gap").click()
    assert window.get_by_text("mark its ends").is_visible()
    pull(window, "grind", "0.1")
    shop.until("!document.querySelector('.ring')")


def test_a_plate_that_is_none_stays_in_its_field_with_the_reason(shop: Shop) -> None:
    before = (shop.folder / "slicer.toml").read_text()
    window = at(shop, f"{SLICER}steel", "[data-path='bar.0.stack.0']")
    field = window.locator("[data-path='bar.0.stack.0']")
    field.fill("1048 2 mm")
    field.press("Tab")
    window.get_by_text('did you mean "1084"').wait_for()
    assert (field.get_attribute("aria-invalid"), field.input_value()) == ("true", "1048 2 mm")
    assert (shop.folder / "slicer.toml").read_text() == before


def test_the_first_figure_of_a_table_brings_those_it_cannot_stand_without(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "details.figures")
    window.get_by_text("Outline, grind and tang in figures").click()
    window.locator("summary", has_text="bolster").click()
    field = window.locator("[data-path='blade.bolster.length']")
    field.fill("16 mm")
    field.press("Tab")
    shop.when(lambda: "bolster" in tomllib.loads((shop.folder / "slicer.toml").read_text())["blade"])
    made = tomllib.loads((shop.folder / "slicer.toml").read_text())["blade"]["bolster"]
    assert made["length"] == "16 mm" and set(made) == {"length", "width", "thickness"}
    window.get_by_text("A usual figure was put in for").wait_for()


def test_a_second_figure_typed_at_once_takes_nothing_of_the_first_away(shop: Shop) -> None:
    path = shop.folder / "slicer.toml"
    steps = tomllib.loads(path.read_text())["bar"][0]["step"]
    k = next(k for k, step in enumerate(steps) if step["do"] == "restack")
    rewrite(path, edited_text(path.read_text(), [{"op": "delete", "path": ["bar", 0, "step", k, "weld"]}]))
    window = at(shop, f"{SLICER}forge", ".step")
    window.click(f"[data-path='change.0.{k}']")
    weld = f"bar.0.step.{k}.weld"
    window.locator("dialog summary", has_text="weld").first.click()
    shop.until(f"document.querySelector(\"dialog [data-path='{weld}.soak']\").offsetParent")
    window.fill(f"dialog [data-path='{weld}.temperature']", "1090 C")
    window.fill(f"dialog [data-path='{weld}.soak']", "4 min")
    window.fill(f"dialog [data-path='{weld}.heats']", "3")
    window.press(f"dialog [data-path='{weld}.heats']", "Tab")
    wanted = {"temperature": "1090 C", "soak": "4 min", "heats": 3}
    shop.when(
        lambda: tomllib.loads((shop.folder / "slicer.toml").read_text())["bar"][0]["step"][k].get("weld") == wanted
    )


def test_a_slider_is_let_go_where_the_recipe_says_another_figure_now(shop: Shop) -> None:
    window = at(shop, f"{SLICER}blade", "[data-shape='spine heel']")
    pull(window, "spine heel", "3.4")
    pull(window, "edge", "0.4")
    path = shop.folder / "slicer.toml"
    spine = tomllib.loads(path.read_text())["blade"]["spine"]["heel"]
    rewrite(path, path.read_text().replace(f'heel = "{spine}"', 'heel = "1.9 mm"'))
    window.get_by_text("these sliders stand as it says: spine, heel").wait_for()
    assert window.locator("[data-shape='spine heel']").input_value() == "1.9"
    assert window.locator("[data-shape='edge']").input_value() == "0.4"


def test_the_stage_chosen_for_a_note_waits_in_another_room(shop: Shop) -> None:
    window = at(shop, f"{SLICER}bench", "#notestage:has(option:nth-child(3))")
    window.select_option("#notestage", label="etch")
    window.fill("#note", "at the first try it came dark")
    shop.room("Fire")
    shop.room("Bench")
    window.wait_for_selector("#notestage:has(option:nth-child(3))")
    window.get_by_role("button", name="Into the book").click()
    window.locator(".notes b", has_text="etch.").wait_for()
    assert "At the first try it came dark." in window.locator(".notes li").first.inner_text()


def test_steps_out_of_sight_are_counted_and_come_at_a_button(shop: Shop) -> None:
    window = at(shop, f"{SLICER}forge", ".step")
    many = len(tomllib.loads((shop.folder / "slicer.toml").read_text())["bar"][0]["step"])
    assert f"{many} steps" in window.locator(".along").inner_text()
    later, earlier = (window.get_by_role("button", name=name) for name in ("later steps", "earlier steps"))
    shop.until("document.querySelector('.along button').disabled")
    later.click()
    shop.until("document.querySelector('.steps').scrollLeft > 100")
    assert earlier.is_enabled()


def test_a_note_goes_under_the_next_stage_until_another_is_chosen(shop: Shop) -> None:
    window = at(shop, f"{SLICER}bench", "#notestage:has(option:nth-child(3))")
    window.fill("#note", "3 heats")
    window.get_by_role("button", name="Into the book").click()
    window.locator(".notes b", has_text="stack.").wait_for()
    assert window.locator("#note").input_value() == ""  # a second tap writes nothing again
    window.wait_for_selector("#notestage:has(option:nth-child(3))")
    shop.until("document.querySelector('#notestage').selectedOptions[0].textContent === 'first weld'")
    window.fill("#note", "after second temper HRC 61")
    window.get_by_role("button", name="Into the book").click()
    window.locator(".notes b", has_text="second temper.").wait_for()
    window.wait_for_selector("#notestage:has(option:nth-child(3))")
    window.select_option("#notestage", label="no one stage")
    window.fill("#note", "tea was good")
    window.get_by_role("button", name="Into the book").click()
    window.locator(".notes li", has_text="Tea was good.").wait_for()
    assert window.locator(".notes li").first.locator("b").count() == 0


def test_a_note_half_written_and_stations_half_keyed_outlive_a_reload(shop: Shop) -> None:
    window = at(shop, f"{SLICER}bench", "#addstation")
    window.fill("#note", "kettle cold")
    for key in ("3", "point", "1"):
        window.get_by_role("group", name="number keys").get_by_role("button", name=key, exact=True).click()
    window.click("#addstation")
    window.get_by_role("group", name="number keys").get_by_role("button", name="2", exact=True).click()
    window.reload()
    window.wait_for_selector(".readings li")
    assert window.locator("#note").input_value() == "kettle cold"
    assert "0 mm spine 3.1 mm" in window.locator(".readings").inner_text()
    assert "50 mm spine" in window.locator(".keyed").inner_text() and "2 mm" in window.locator(".keyed").inner_text()


@pytest.mark.parametrize("shop", [390], indirect=True, ids=str)
def test_on_a_telephone_a_station_is_a_tag_and_the_large_button_is_within_reach(shop: Shop) -> None:
    window = shop.window
    window.set_viewport_size({"width": 390, "height": 664})
    at(shop, f"{SLICER}bench", "#addstation")
    window.get_by_role("group", name="number keys").get_by_role("button", name="3", exact=True).click()
    button, rooms = window.locator("#addstation").bounding_box(), window.locator("#rooms").bounding_box()
    keys = window.get_by_role("group", name="number keys").bounding_box()
    assert button["y"] + button["height"] <= rooms["y"] and keys["y"] < rooms["y"]
    window.click("#addstation")
    window.click("#reckon")
    row = window.locator(".straight tbody tr").first
    row.wait_for()
    assert row.locator("td").nth(4).get_attribute("data-head") == "off left"
    assert row.bounding_box()["width"] <= 390 and not window.locator(".straight thead").is_visible()
    assert window.evaluate("document.documentElement.scrollWidth") <= 390


def test_an_address_gone_back_to_opens_what_it_names(shop: Shop) -> None:
    shutil.copy(DEMOS / "twist.toml", shop.folder)
    window = at(shop, f"{SLICER}steel", ".stackcard")
    window.evaluate("location.hash = 'twist.toml/forge'")
    window.wait_for_selector(".step")
    title = tomllib.loads((shop.folder / "twist.toml").read_text())["title"]
    assert window.locator("#title").inner_text() == title
    assert window.locator("#rooms [aria-current]").inner_text() == "Forge"


def test_how_to_straighten_is_told_in_words(shop: Shop) -> None:
    window = at(shop, f"{SLICER}bench", "#addstation")
    keys = window.get_by_role("group", name="number keys")
    for bow in ("3", "0", "3"):
        for key in ("3", "point", "4"):
            keys.get_by_role("button", name=key, exact=True).click()
        window.get_by_role("button", name="bow to the left").click()
        keys.get_by_role("button", name=bow, exact=True).click()
        window.click("#addstation")
    window.click("#reckon")
    window.locator(".outcard .verdictline", has_text="Straighten first.").wait_for()
    window.locator(".outcard p", has_text="Do not strike or bend it cold").first.wait_for()
    assert "[object" not in window.locator(".outcard").inner_text()
