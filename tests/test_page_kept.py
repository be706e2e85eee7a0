"""The page in a real browser: nothing typed is lost, and nothing is written where it was not meant. Skipped like its fellow tests."""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browsing import DEMOS, IN_A_BROWSER, Shop, rewrite, start

pytestmark = IN_A_BROWSER


def put_in_front(shop: Shop) -> str:
    """Another program puts a step before all others; what the file says then."""
    path = shop.folder / "petty.toml"
    text = path.read_text()
    first = text.index("[[bar.step]]")
    end = text.index("[[bar.step]]", first + 1)
    rewrite(path, text[:first] + text[first:end] + text[first:])
    return path.read_text()


def seen(shop: Shop) -> None:
    """Wait until the page has noticed a change outside."""
    shop.window.get_by_text("changed outside this page").wait_for()


def test_the_text_is_the_file_s_and_is_written_whole(shop: Shop) -> None:
    window = start(shop)
    path = shop.folder / "petty.toml"
    window.get_by_role("button", name="Text").click()
    box = window.get_by_label("The recipe as text")
    assert box.input_value() == path.read_text()
    box.fill(path.read_text().replace("Harbour petty", "Harbour paring knife") + "# by hand\n")
    window.get_by_role("button", name="Write it").click()
    shop.until("document.getElementById('title').textContent === 'Harbour paring knife'")
    shop.until("!document.querySelector('dialog')")
    assert path.read_text().endswith("# by hand\n")
    assert shop.faults == []


def test_a_text_opened_before_a_change_outside_is_not_written_over_it(shop: Shop) -> None:
    window = start(shop)
    path = shop.folder / "petty.toml"
    window.get_by_role("button", name="Text").click()
    box = window.get_by_label("The recipe as text")
    box.fill(box.input_value() + "# mine\n")
    rewrite(path, path.read_text() + "# theirs\n")
    window.wait_for_selector("dialog .stale:not(:empty)")
    window.get_by_role("button", name="Write it").click()
    window.wait_for_selector("dialog .wrong:not(:empty)")
    assert "nothing was written" in window.locator("dialog .wrong").inner_text()
    assert path.read_text().endswith("# theirs\n") and "# mine" not in path.read_text()
    assert box.input_value().endswith("# mine\n")


def test_an_open_step_is_not_written_into_another_one(shop: Shop) -> None:
    window = start(shop)
    shop.room("Forge")
    window.locator("[data-path='change.0.1']").click()
    field = window.locator("dialog [data-path^='bar.0.step.1.']").first
    then = put_in_front(shop)
    window.wait_for_selector("dialog .stale:not(:empty)")
    field.fill("777 C" if "temperature" in str(field.get_attribute("data-path")) else "7 mm")
    field.press("Tab")
    window.wait_for_selector("dialog [aria-invalid=true]")
    assert "Close it and open it again" in window.locator("dialog .field .wrong:not(:empty)").inner_text()
    assert (shop.folder / "petty.toml").read_text() == then


def test_a_new_step_is_not_put_where_another_program_moved_things(shop: Shop) -> None:
    window = start(shop)
    shop.room("Forge")
    window.get_by_role("button", name="Add a step").click()
    then = put_in_front(shop)
    window.wait_for_selector("dialog .stale:not(:empty)")
    window.click("[data-verb=trim]")
    window.wait_for_selector("dialog .wrong:not(:empty)")
    assert (shop.folder / "petty.toml").read_text() == then


def test_fields_of_one_step_are_written_as_fast_as_they_are_typed(shop: Shop) -> None:
    window = start(shop)
    shop.room("Forge")
    window.locator("[data-path='change.0.0']").click()
    held: list[Any] = []
    window.route("**/api/edit", lambda route: held.append(route), times=1)
    for name, value in (("temperature", "1111 C"), ("soak", "13 min")):
        field = window.locator(f"dialog [data-path='bar.0.step.0.{name}']")
        field.fill(value)
        field.press("Tab")
    window.wait_for_timeout(200)
    assert len(held) == 1  # one after the other
    held.pop().continue_()
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["step"][0].get("soak") == "13 min")
    assert shop.recipe("petty.toml")["bar"][0]["step"][0]["temperature"] == "1111 C"
    assert window.locator("dialog [aria-invalid=true]").count() == 0 and shop.faults == []


def test_a_field_keeps_its_words_while_another_is_saved(shop: Shop) -> None:
    window = start(shop)
    held: list[Any] = []
    window.route("**/api/edit", lambda route: held.append(route), times=1)
    width, length = (window.locator(f"[data-path='bar.0.{name}']") for name in ("width", "length"))
    width.fill("33 mm")
    width.press("Tab")
    length.fill("")
    window.keyboard.type("12")
    shop.when(lambda: held)
    held.pop().continue_()
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["width"] == "33 mm")
    shop.until("document.querySelector('[data-path=\"bar.0.width\"]').defaultValue === '33 mm'")
    window.keyboard.type("5 mm")
    assert length.input_value() == "125 mm"
    window.keyboard.press("Tab")
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["length"] == "125 mm")
    assert shop.faults == []


def test_words_carried_into_the_room_drawn_anew_are_written_when_the_field_is_left(shop: Shop) -> None:
    window = start(shop)
    length = window.locator("[data-path='bar.0.length']")
    length.fill("126 mm")  # and the finger rests
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    seen(shop)
    assert length.input_value() == "126 mm"
    window.keyboard.press("Tab")
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["length"] == "126 mm")
    assert shop.recipe("petty.toml")["title"] == "Changed by hand" and shop.faults == []


def test_a_plate_half_typed_is_not_written_into_another_plate(shop: Shop) -> None:
    window = start(shop)
    path = shop.folder / "petty.toml"
    stack = shop.recipe("petty.toml")["bar"][0]["stack"]
    plate = window.locator("[data-path='bar.0.stack.1']")
    plate.fill("1095 4 mm")
    text = path.read_text()
    rewrite(path, re.sub(r"(\nstack = \[)", f'\\1"{stack[1]}", ', text, count=1))  # one more plate at the bottom
    window.get_by_text("found no place").wait_for()
    assert "1095 4 mm" in window.locator("#news").inner_text()
    window.keyboard.press("Tab")
    window.wait_for_timeout(500)
    assert "1095 4 mm" not in path.read_text() and len(shop.recipe("petty.toml")["bar"][0]["stack"]) == len(stack) + 1


def test_a_refused_field_keeps_its_words_and_its_refusal(shop: Shop) -> None:
    window = start(shop)
    width, length = (window.locator(f"[data-path='bar.0.{name}']") for name in ("width", "length"))
    width.fill("33")
    width.press("Tab")
    window.wait_for_selector("[data-path='bar.0.width'][aria-invalid=true]")
    length.fill("127 mm")
    length.press("Tab")
    shop.until("document.querySelector('[data-path=\"bar.0.length\"]').defaultValue === '127 mm'")
    assert width.input_value() == "33" and width.get_attribute("aria-invalid") == "true"
    beside = (
        "document.querySelector('[data-path=\"bar.0.width\"]').closest('.field').querySelector('.wrong').textContent"
    )
    assert "without a unit" in window.evaluate(beside)
    width.fill("34 mm")
    width.press("Tab")
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["width"] == "34 mm")
    assert [one for one in shop.faults if "422" not in one] == []


def test_a_button_pressed_while_a_field_is_saved_does_its_work(shop: Shop) -> None:
    window = start(shop)
    plates = len(shop.recipe("petty.toml")["bar"][0]["stack"])
    held: list[Any] = []
    window.route("**/api/edit", lambda route: held.append(route), times=1)
    window.locator("[data-path='bar.0.width']").fill("35 mm")
    box = window.get_by_role("button", name="Lay one more plate on top").bounding_box()
    window.mouse.move(box["x"] + 20, box["y"] + 10)
    window.mouse.down()  # the field is left, and its words go out
    shop.when(lambda: held)
    held.pop().continue_()
    shop.when(lambda: shop.recipe("petty.toml")["bar"][0]["width"] == "35 mm")
    window.wait_for_timeout(300)
    window.mouse.up()
    shop.when(lambda: len(shop.recipe("petty.toml")["bar"][0]["stack"]) == plates + 1)
    assert shop.recipe("petty.toml")["bar"][0]["width"] == "35 mm" and shop.faults == []


def test_a_slider_held_while_the_file_is_changed_outside_stays_in_the_finger(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    slider = window.locator("[data-shape='offset']")
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    window.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    window.mouse.down()
    window.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.5 * box["height"], steps=4)
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    seen(shop)
    window.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 0.5 * box["height"], steps=4)
    wanted = slider.input_value()
    window.mouse.up()
    shop.until("document.getElementById('title').textContent === 'Changed by hand'")
    shop.until(f"document.querySelector('[data-shape=\"offset\"]')?.value === {wanted!r}")
    window.click("#keep")
    window.get_by_text("Kept in the recipe").wait_for()
    assert shop.recipe("petty.toml")["blade"]["offset"] == f"{float(wanted):g} mm"
    assert shop.recipe("petty.toml")["title"] == "Changed by hand" and shop.faults == []


def test_a_note_half_written_outlives_another_room_and_a_change_outside(shop: Shop) -> None:
    window = start(shop)
    shop.room("Bench")
    window.wait_for_selector(".nextcard .big")
    window.fill("#note", "after first weld thick")
    shop.room("Fire")
    window.wait_for_selector(".firecard dt")
    shop.room("Bench")
    window.wait_for_selector(".nextcard .big")
    assert window.locator("#note").input_value() == "after first weld thick"
    window.get_by_role("button", name="3", exact=True).click()
    window.locator("#note").press("Control+End")
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    seen(shop)
    window.keyboard.type(" 38 mm")
    assert window.locator("#note").input_value() == "after first weld thick 38 mm"
    window.wait_for_selector(".keyed b")
    assert window.locator(".keyed b").first.inner_text().startswith("3 ")
    assert shop.faults == []


def test_stations_of_spine_and_edge_and_their_answer_stay_on_the_bench(shop: Shop) -> None:
    window = start(shop)
    shop.room("Bench")
    window.wait_for_selector(".keys")
    for where, figures in (("spine", "3.1"), ("edge", "0.8")):
        window.get_by_role("button", name=where, exact=True).click()
        for figure in figures:
            window.get_by_role("button", name="point" if figure == "." else figure, exact=True).click()
        window.click("#addstation")
    assert [one.splitlines()[0] for one in window.locator(".readings li").all_inner_texts()] == [
        "0 mm spine 3.1 mm",
        "50 mm edge 0.8 mm",
    ]
    window.click("#reckon")
    window.wait_for_selector(".outcard table")
    said = window.locator(".verdictline").inner_text()
    shop.room("Fire")
    window.wait_for_selector(".firecard dt")
    shop.room("Bench")
    window.wait_for_selector(".keys")
    assert window.locator(".verdictline").inner_text() == said
    assert window.locator(".outcard tbody tr").count() == 2 and shop.faults == []


def test_one_tap_and_a_second_write_one_note(shop: Shop) -> None:
    window = start(shop)
    shop.room("Bench")
    window.wait_for_selector(".nextcard .big")
    window.fill("#note", "after stack went well")
    held: list[Any] = []
    window.route("**/api/note", lambda route: held.append(route))
    for _ in range(2):
        window.evaluate(
            "[...document.querySelectorAll('button')].find((b) => b.textContent === 'Into the book').click()"
        )
    shop.when(lambda: held)
    window.wait_for_timeout(200)
    assert len(held) == 1
    held.pop().continue_()
    window.wait_for_selector(".notes li")
    assert window.locator(".notes li").count() == 1


def test_an_address_that_is_none_opens_the_shelf(shop: Shop) -> None:
    window = shop.window
    window.goto(f"{shop.address.partition('/?')[0]}/#%E0%A4%A")
    window.reload()
    window.wait_for_selector("[data-start]")
    assert shop.faults == []


def test_a_knife_that_cannot_be_opened_leaves_the_page_as_it_was(shop: Shop) -> None:
    window = start(shop)
    (shop.folder / "torn.toml").write_bytes(b'title = "\xff\xfe"\n')
    window.click("#shelf")
    window.locator(".knives button", has_text="torn.toml").click()
    window.wait_for_selector("#news .bad")
    shop.room("Forge")
    window.wait_for_selector(".step")
    assert window.locator("#title").inner_text() == "Harbour petty"
    assert not [one for one in shop.faults if "422" not in one]


def test_a_deleted_knife_is_told(shop: Shop) -> None:
    start(shop)
    (shop.folder / "petty.toml").unlink()
    shop.window.get_by_text("is it still in the folder?").wait_for()


@pytest.fixture
def order(tmp_path: Path, browser: Any) -> Iterator[Shop]:
    """The order of three knives from one bar, opened by its name beside another recipe."""
    for name in ("order.toml", "slicer.toml"):
        shutil.copy(DEMOS / name, tmp_path)
    opened = Shop(tmp_path, browser, 1280, given="order.toml")
    yield opened
    opened.close()


def test_of_several_knives_one_is_chosen_for_fire_and_bench_too(order: Shop) -> None:
    window = order.window
    names = [one["name"] for one in order.recipe("order.toml")["blade"]]
    window.wait_for_selector("#rooms button")
    order.room("Fire")
    chosen = window.locator(".choose [aria-pressed=true]")
    window.wait_for_selector(".choose")
    assert chosen.inner_text().startswith(names[0])
    with window.expect_request(lambda one: f"/api/fire?file=order.toml&blade={names[1]}" in one.url):
        window.locator(".choose button", has_text=names[1]).click()
    order.room("Bench")
    window.wait_for_selector(".keys")
    assert chosen.inner_text().startswith(names[1])
    window.get_by_role("button", name="2", exact=True).click()
    window.click("#addstation")
    assert window.locator(".readings li").count() == 1
    window.locator(".choose button", has_text=names[2]).click()
    window.wait_for_selector(".keys")
    assert window.locator(".readings li").count() == 0
    window.locator(".choose button", has_text=names[1]).click()
    window.wait_for_selector(".readings li")
    assert order.faults == []


def test_a_reload_stays_with_the_knife_and_the_room(order: Shop) -> None:
    window = order.window
    window.wait_for_selector("#rooms button")
    window.click("#shelf")
    window.locator(".knives button", has_text="slicer.toml").click()
    order.until("location.hash.startsWith('#slicer.toml')")
    order.room("Forge")
    title = window.locator("#title").inner_text()
    window.reload()
    window.wait_for_selector(".step")
    assert window.locator("#title").inner_text() == title == order.recipe("slicer.toml")["title"]


def test_a_spot_is_followed_as_deep_as_the_knife_is_ground(shop: Shop) -> None:
    window = start(shop)
    shop.room("Blade")
    window.wait_for_selector(".table img[data-quality=settled]")
    box = window.locator(".table img").bounding_box()
    spot = (box["x"] + 0.4 * box["width"], box["y"] + 0.12 * box["height"])
    told = []
    for _ in range(2):
        window.mouse.click(*spot)
        window.wait_for_selector(".spot h3")
        told.append(window.locator(".spot").inner_text())
        slider = window.locator("[data-shape='grind']")
        slider.focus()
        for _ in range(12):
            slider.press("ArrowRight")
        window.evaluate("document.querySelector('.spot').replaceChildren()")
    assert told[0] != told[1] and "grind_m" in [one for one in shop.asked if "/api/where" in one][-1]
    assert shop.faults == []


def test_a_tab_that_is_not_looked_at_holds_no_line(shop: Shop) -> None:
    """A browser keeps few lines open to one place (RFC 9112 section 9.4 leaves the number to it); tabs that wait on one
    each would in time hold them all."""
    window = start(shop)
    given_up: list[str] = []
    window.on("requestfailed", lambda request: given_up.append(request.url))
    watches = lambda: [one for one in shop.asked if "/api/watch" in one]  # noqa: E731
    shop.when(watches)
    looked_at(window, False)
    shop.when(lambda: [one for one in given_up if "/api/watch" in one])
    before = len(watches())
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    window.wait_for_timeout(1000)
    assert len(watches()) == before and window.locator("#title").inner_text() == "Harbour petty"
    looked_at(window, True)
    window.get_by_text("changed outside this page").wait_for()  # looked at again, it is up to date
    assert window.locator("#title").inner_text() == "Changed by hand"


def looked_at(window: Any, yes: bool) -> None:
    """Lay a tab behind another, or fetch it to the front; headless windows are never hidden themselves."""
    window.evaluate(
        f"Object.defineProperty(document, 'hidden', {{ value: {'false' if yes else 'true'}, configurable: true }})"
    )
    window.evaluate("document.dispatchEvent(new Event('visibilitychange'))")


def test_two_folders_open_in_one_browser_do_not_lock_each_other_out(shop: Shop, tmp_path: Path, browser: Any) -> None:
    window = start(shop)
    (tmp_path / "second").mkdir()
    shutil.copy(DEMOS / "slicer.toml", tmp_path / "second")
    second = Shop(tmp_path / "second", browser, 1280)
    try:
        beside = window.context.new_page()
        beside.goto(second.address)
        beside.wait_for_selector("[data-start]")
        window.reload()
        window.wait_for_selector(".stackcard")
        window.get_by_role("button", name="Lay one more plate on top").click()
        window.wait_for_selector("#tools button:not([disabled])")
        assert shop.faults == []
    finally:
        second.close()


def test_a_page_whose_key_is_gone_says_so(shop: Shop) -> None:
    window = start(shop)
    window.context.clear_cookies()
    path = shop.folder / "petty.toml"
    rewrite(path, path.read_text().replace("Harbour petty", "Changed by hand"))
    window.get_by_text("The key is missing").wait_for(timeout=30_000)


def test_long_words_in_a_refusal_do_not_widen_a_telephone(tmp_path: Path, browser: Any) -> None:
    shutil.copy(DEMOS / "slicer.toml", tmp_path / "long.toml")
    path = tmp_path / "long.toml"
    rewrite(path, path.read_text().replace("[[bar.step]]", "[[bar.step]]\n" + "x" * 400 + " = 1", 1))
    with pytest.raises(KeyError):
        tomllib.loads(path.read_text())["x"]
    shop = Shop(tmp_path, browser, 360, given="long.toml")
    try:
        shop.window.wait_for_selector(".problem")
        assert shop.window.evaluate("document.documentElement.scrollWidth <= innerWidth")
    finally:
        shop.close()
