"""The page in a real browser, badly treated: other sites, two windows, a killed server, thumbs, no mouse. Skipped like its fellow tests."""

from __future__ import annotations

import http.client
import http.server
import json
import re
import shutil
import socket
import threading
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browsing import DEMOS, IN_A_BROWSER, Shop, start

pytestmark = IN_A_BROWSER
ROOMS = ("Steel", "Forge", "Blade", "Fire", "Bench")
PLATES = "document.querySelectorAll('.plates li').length"
MORE = "Lay one more plate on top"


class _Blank(http.server.BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("content-type", "text/html")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>elsewhere</title>")

    def log_message(self, format: str, *args: Any) -> None:
        pass


@pytest.fixture
def elsewhere() -> Iterator[int]:
    """The port of another site on this machine; a browser counts it as the same site, so the page's cookie goes along."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), _Blank)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.server_port
    server.shutdown()


REACH = """async ([base, version]) => {
  const get = (mode) => fetch(`${base}/api/knife?file=slicer.toml`, { mode, credentials: "include" })
    .then((r) => r.text()).catch(() => "refused");
  const edits = [{ op: "set", path: ["title"], value: "Taken over" }];
  const body = JSON.stringify({ file: "slicer.toml", version, edits });
  const post = (mode, type) => fetch(`${base}/api/edit`, { method: "POST", mode, credentials: "include", headers: { "content-type": type }, body })
    .then(() => "sent").catch(() => "refused");
  const picture = new Promise((done) => {
    const image = new Image();
    image.onload = () => done("seen");
    image.onerror = () => done("refused");
    image.src = `${base}/api/draw?file=slicer.toml&view=right&width=300`;
  });
  await post("no-cors", "text/plain");
  return { read: await get("cors"), blind: await get("no-cors"), write: await post("cors", "application/json"), picture: await picture };
}"""


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost"])
def test_a_page_from_elsewhere_reads_and_writes_nothing(shop: Shop, elsewhere: int, name: str) -> None:
    base = shop.address.partition("/?")[0]
    shop.window.wait_for_selector("[data-start]")
    kept = (shop.folder / "slicer.toml").read_bytes()
    version = shop.window.evaluate("fetch('/api/knife?file=slicer.toml').then((r) => r.json()).then((k) => k.version)")
    own = shop.window.evaluate(REACH, [base, "none"])
    assert (
        own["read"].startswith("{") and own["picture"] == "seen"
    )  # the page itself may, so what follows says something
    stranger = shop.window.context.new_page()
    stranger.goto(f"http://{name}:{elsewhere}/")
    found = stranger.evaluate(REACH, [base, version])
    assert found["read"] == "refused" and found["write"] == "refused" and found["picture"] == "refused"
    assert found["blind"] in ("", "refused")
    stranger.evaluate(
        "(a) => { const f = document.createElement('iframe'); f.src = a; document.body.append(f); }", f"{base}/"
    )
    stranger.wait_for_timeout(800)
    assert [frame.url for frame in stranger.frames[1:]] == ["chrome-error://chromewebdata/"]
    assert (shop.folder / "slicer.toml").read_bytes() == kept
    assert [one for one in shop.faults if "415" not in one and "409" not in one] == []  # its own tries, answered


def test_a_link_followed_from_another_page_opens_the_page(shop: Shop, elsewhere: int) -> None:
    """A mail read in the browser is a site of its own; `localhost` is another site than 127.0.0.1 too."""
    stranger = shop.window.context.browser.new_context().new_page()
    stranger.goto(f"http://localhost:{elsewhere}/")
    stranger.evaluate(
        "(to) => { const a = document.createElement('a'); a.href = to; a.textContent = 'to the knives'; document.body.append(a); }",
        shop.address,
    )
    stranger.get_by_text("to the knives").click()
    stranger.wait_for_selector("[data-start]")
    assert stranger.url.startswith(shop.address.partition("/?")[0])


@pytest.mark.parametrize("host", ["elsewhere.test", "elsewhere.test:{port}", "127.0.0.1", "127.0.0.1:1", "localhost"])
def test_a_running_server_answers_under_no_other_name(shop: Shop, host: str) -> None:
    """A name of another site that is made to lead here (DNS rebinding) is turned away, key or no key."""
    port = int(shop.address.split(":")[2].partition("/")[0])
    key = shop.address.partition("token=")[2]
    wire = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    for name, status in ((host.format(port=port), 403), (f"127.0.0.1:{port}", 303)):
        wire.request("GET", f"/?token={key}", headers={"Host": name})
        answer = wire.getresponse()
        answer.read()
        assert answer.status == status
    wire.close()


@pytest.fixture
def paired(tmp_path: Path, browser: Any) -> Iterator[Shop]:
    """A folder opened for a telephone too; skipped where this machine is in no local network."""
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    opened = Shop(tmp_path, browser, 1280, "", "--phone")
    yield opened
    opened.close()


def test_one_telephone_is_let_in_once_and_stays_in(paired: Shop, browser: Any) -> None:
    code = next(m[0] for line in paired.told if (m := re.search(r"http://\S+\?pair=\S+", line)))
    assert any("can reach the page" in line for line in paired.told) and any(
        "not encrypted" in line for line in paired.told
    )
    held = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
    telephone, other = (browser.new_context(**held).new_page() for _ in range(2))
    looked = other.goto(code)
    assert looked.status == 200  # whoever passes the link on may look at it first
    telephone.goto(code)
    telephone.get_by_role("button", name="Open the page on this telephone").tap()
    telephone.locator(".knives button", has_text="slicer.toml").tap()
    telephone.wait_for_selector(".keys")
    assert telephone.evaluate("document.querySelector('[aria-current]').textContent") == "Bench"
    for key in ("2", "point", "1"):
        telephone.get_by_role("button", name=key, exact=True).tap()
    assert telephone.locator(".keyed b").first.inner_text().startswith("2.1 ")
    telephone.reload()
    telephone.wait_for_selector(".keys")
    answer = other.goto(code)
    assert answer.status == 403 and "start it again for a new one" in other.locator("body").inner_text()
    assert other.goto(code.partition("?")[0]).status == 403


def test_without_being_asked_the_page_is_not_in_the_local_network(shop: Shop) -> None:
    port = int(shop.address.split(":")[2].partition("/")[0])
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.settimeout(2)
        assert probe.connect_ex(("127.0.0.2", port)) != 0  # the machine itself, but not the one address listened on
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as own:
            assert own.connect_ex(("127.0.0.1", port)) == 0


def _beside(shop: Shop, browser: Any, *, same: bool) -> Any:
    """A second window on the same knife: a tab of the same browser, or another browser."""
    context = shop.window.context if same else browser.new_context(viewport={"width": 1280, "height": 800})
    other = context.new_page()
    other.goto(shop.address)
    other.wait_for_selector("[data-start], .stackcard")
    other.goto(f"{shop.address.partition('/?')[0]}/#petty.toml/steel")
    other.reload()
    other.wait_for_selector(".stackcard")
    return other


@pytest.mark.parametrize("same", [True, False], ids=["two tabs", "two browsers"])
def test_of_two_who_write_at_once_one_is_told_and_neither_loses(shop: Shop, browser: Any, same: bool) -> None:
    window = start(shop)
    other = _beside(shop, browser, same=same)
    plates = window.evaluate(PLATES)
    held: list[Any] = []
    other.route("**/api/edit", lambda route: held.append(route))
    other.get_by_role("button", name=MORE).click()
    other.wait_for_timeout(200)
    window.get_by_role("button", name=MORE).click()
    shop.until(f"{PLATES} === {plates + 1}")
    held.pop().continue_()
    other.get_by_text("do your change again").wait_for()
    assert other.evaluate(PLATES) == plates + 1
    assert len(shop.recipe("petty.toml")["bar"][0]["stack"]) == plates + 1
    other.unroute("**/api/edit")
    other.get_by_role("button", name=MORE).click()
    shop.until(f"{PLATES} === {plates + 2}")  # and the first window sees what the second did
    assert len(shop.recipe("petty.toml")["bar"][0]["stack"]) == plates + 2
    assert shop.faults == []


def test_of_many_writes_at_once_every_one_answered_well_is_in_the_file(shop: Shop, browser: Any) -> None:
    window = start(shop)
    windows = [window, _beside(shop, browser, same=True), _beside(shop, browser, same=False)]
    plates, answers = len(shop.recipe("petty.toml")["bar"][0]["stack"]), list[int]()
    for one in windows:
        one.on("response", lambda r: answers.append(r.status) if r.url.endswith("/api/edit") else None)
    for _ in range(6):
        for one in windows:
            one.evaluate(
                "[...document.querySelectorAll('button')].find((b) => b.textContent.includes('one more plate')).click()"
            )
        window.wait_for_timeout(400)
    ends = time.monotonic() + 20
    while len(answers) < 18 and time.monotonic() < ends:
        window.wait_for_timeout(50)
    shop.until(f"{PLATES} === {plates + answers.count(200)}")
    assert len(answers) == 18 and set(answers) <= {200, 409} and answers.count(200) >= 2
    assert len(shop.recipe("petty.toml")["bar"][0]["stack"]) == plates + answers.count(200)


@pytest.mark.parametrize("delay", [0.0, 0.012, 0.06])
def test_a_server_killed_in_a_save_leaves_a_whole_file_and_all_that_was_answered(
    shop: Shop, browser: Any, delay: float
) -> None:
    window = start(shop)
    shop.room("Blade")
    slider = window.locator("[data-shape='spine middle']")
    answered: list[str] = []
    sent: list[str] = []
    window.on("request", lambda r: sent.append(r.post_data or "") if r.url.endswith("/api/edit") else None)
    window.on(
        "response",
        lambda r: (
            answered.append(r.request.post_data or "") if r.url.endswith("/api/edit") and r.status == 200 else None
        ),
    )
    slider.focus()
    slider.press("ArrowRight")
    window.click("#keep")
    window.get_by_text("Kept in the recipe").wait_for()
    before = shop.recipe("petty.toml")
    for _ in range(3):
        slider.press("ArrowRight")  # the picture is still being drawn while it is kept and the server dies
    window.evaluate("document.getElementById('keep').click()")
    time.sleep(delay)
    shop.close()
    window.get_by_text("No answer from billet").first.wait_for()
    assert len(sent) == 2 and answered[:1] == sent[:1]
    now, after = shop.recipe("petty.toml"), done(before, json.loads(sent[1])["edits"])
    assert after != before
    assert now == after or (now == before and len(answered) == 1)
    again = Shop(shop.folder, browser, 1280)
    try:
        again.window.wait_for_selector("[data-start]")
        again.window.goto(f"{again.address.partition('/?')[0]}/#petty.toml/blade")
        again.window.reload()
        again.window.wait_for_selector(".table img[data-quality=settled]")
        assert again.recipe("petty.toml") == now
        again.window.get_by_role("button", name="Take back").click()
        again.until("document.querySelector('#tools button:nth-of-type(2)').disabled === false")
        assert again.recipe("petty.toml") != now and again.faults == []
    finally:
        again.close()


def test_a_server_killed_under_a_drag_leaves_the_file_as_it_was(shop: Shop, browser: Any) -> None:
    window = start(shop)
    shop.room("Blade")
    slider = window.locator("[data-shape='offset']")
    slider.scroll_into_view_if_needed()
    box, kept = slider.bounding_box(), (shop.folder / "petty.toml").read_bytes()
    window.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    window.mouse.down()
    window.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.5 * box["height"], steps=5)
    shop.close()
    window.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 0.5 * box["height"], steps=5)
    window.get_by_text("No answer from billet").first.wait_for()
    wanted = slider.input_value()
    window.mouse.up()
    assert (shop.folder / "petty.toml").read_bytes() == kept
    assert slider.input_value() == wanted  # and what was dragged still stands there to be read


def done(recipe: Any, edits: list[Any]) -> Any:
    """A recipe's data with edits of the kind that sets a value done by the plainest means."""
    new = json.loads(json.dumps(recipe))
    for edit in edits:
        assert edit["op"] == "set"
        *way, last = edit["path"]
        at = new
        for key in way:
            at = at[key]
        at[last] = edit["value"]
    return new


MOVING = """[...document.querySelectorAll('*')].filter((e) => { const s = getComputedStyle(e);
  return s.transitionDuration.split(',').some((d) => parseFloat(d) > 0) || s.animationName !== 'none' || s.scrollBehavior === 'smooth'; }).length
  + document.getAnimations().length"""


def test_nothing_moves_by_itself_for_those_who_ask_for_less_motion(shop: Shop) -> None:
    window = start(shop)
    assert window.evaluate(MOVING) > 0  # otherwise something does
    window.emulate_media(reduced_motion="reduce")
    for room in ROOMS:
        shop.room(room)
        window.wait_for_timeout(400)
        assert window.evaluate(MOVING) == 0, room
    assert shop.faults == []


SMALL = """[...document.querySelectorAll('button, input, select, textarea, summary, a[href], [tabindex="0"]')].filter((e) => {
  const held = e.closest('.plates li, .rackrow') && e.tagName === 'INPUT' ? e : e.type === 'checkbox' && e.closest('label') || e;
  const box = held.getBoundingClientRect();
  return e.checkVisibility({ visibilityProperty: true }) && box.width > 0 && box.left >= -1000 && (box.height < 43.5 || box.width < 43.5);
}).map((e) => `${e.tagName} ${e.id || e.className || ''} ${e.textContent.trim().slice(0, 30)} ${e.ariaLabel ?? ''}`)"""


@pytest.mark.parametrize("shop", [360], indirect=True)
def test_every_control_fits_a_thumb_on_a_telephone(shop: Shop) -> None:
    window = start(shop)
    small = {}
    for room in ROOMS:
        shop.room(room)
        window.wait_for_timeout(600)
        for closed in window.locator("details:not([open]) > summary").all():
            if closed.is_visible():
                closed.click()
        small[room] = window.evaluate(SMALL)
    shop.room("Forge")
    window.get_by_role("button", name="Add a step").click()
    small["steps"] = window.evaluate(SMALL)
    window.keyboard.press("Escape")
    window.locator("[data-path='change.0.0']").click()
    window.wait_for_selector("dialog input")
    small["a step"] = window.evaluate(SMALL)
    window.keyboard.press("Escape")
    window.click("#shelf")
    window.wait_for_selector("[data-start]")
    small["shelf"] = window.evaluate(SMALL)
    assert {room: found for room, found in small.items() if found} == {}
    assert shop.faults == []


CUT = """[...document.querySelectorAll('#room button, #room input')].filter(
  (e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.steps, .scroll')).length"""


@pytest.mark.parametrize("shop", [360, 412, 768, 1280, 2560], indirect=True)
def test_no_room_scrolls_sideways_by_day_or_night(shop: Shop) -> None:
    window = start(shop)
    for room in ROOMS:
        shop.room(room)
        window.wait_for_timeout(400)
        for light in ("light", "dark"):
            window.emulate_media(color_scheme=light)
            assert window.evaluate("document.documentElement.scrollWidth <= innerWidth"), room
            assert window.evaluate(CUT) == 0, room
    assert shop.faults == []


class Hands:
    """A keyboard, and nothing else."""

    def __init__(self, window: Any) -> None:
        self.window, self.keys = window, window.keyboard

    def to(self, selector: str) -> None:
        """Tab on until something has the focus, and see that it shows."""
        for _ in range(250):
            self.keys.press("Tab")
            if self.window.evaluate("(s) => document.activeElement.matches(s)", selector):
                shown = "(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2; })()"
                assert self.window.evaluate(shown), f"{selector} has the focus and does not show it"
                return
        raise AssertionError(f"the Tab key never comes to {selector}")

    def press(self, selector: str) -> None:
        self.to(selector)
        self.keys.press("Enter")

    def write(self, selector: str, words: str) -> None:
        self.to(selector)
        self.keys.press("Control+A")
        self.keys.type(words)

    def room(self, number: int) -> None:
        self.press(f"#rooms button:nth-of-type({number})")


def test_a_whole_knife_with_the_keyboard_alone(shop: Shop) -> None:
    window, hands = shop.window, Hands(shop.window)
    window.wait_for_selector("[data-start]")
    hands.write("#newtitle", "Keyed petty")
    hands.write("#newname", "keyed")
    hands.press("[data-start=starter_metric]")
    window.wait_for_selector(".stackcard")
    hands.room(2)
    hands.press(".add, .add button")
    hands.press("[data-verb=trim]")
    shop.until("[...document.querySelectorAll('.step h3')].at(-1).textContent === 'trim'")
    last = len(shop.recipe("keyed.toml")["bar"][0]["step"]) - 1
    hands.press(f"[data-path='change.0.{last}']")
    hands.write("dialog input[type=text]", "5 mm")
    hands.keys.press("Tab")
    ends = time.monotonic() + 10
    while shop.recipe("keyed.toml")["bar"][0]["step"][-1].get("each_end") != "5 mm":
        assert time.monotonic() < ends
        window.wait_for_timeout(50)
    hands.keys.press("Escape")
    window.wait_for_selector("dialog", state="detached")
    shop.until("[...document.querySelectorAll('.step')].at(-1).textContent.includes('5')")
    hands.room(3)
    spine = shop.recipe("keyed.toml")["blade"]
    window.wait_for_selector("[data-shape='spine middle']")
    hands.to("[data-shape='spine middle']")
    for _ in range(3):
        hands.keys.press("ArrowRight")
    hands.press("#keep")
    window.get_by_text("Kept in the recipe").wait_for()
    assert shop.recipe("keyed.toml")["blade"] != spine
    hands.room(4)
    window.wait_for_selector(".firecard dt")
    hands.room(5)
    window.wait_for_selector(".nextcard .big")
    hands.write("#note", "after stack went well")
    hands.to("#note ~ button, :has(> #note) ~ button, :has(> #note) ~ * button")
    assert window.evaluate("document.activeElement.textContent") == "Into the book"
    hands.keys.press("Enter")
    window.wait_for_selector(".notes li")
    assert tomllib.loads((shop.folder / "keyed.toml").read_text())["title"] == "Keyed petty"
    assert shop.faults == []
