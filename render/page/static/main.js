// The page: one knife at a time, five rooms in the order of the work. The recipe's text is the truth; everything here shows it.

import { ask, h, say, sheet } from "./parts.js";
import { halfDone } from "./typing.js";
import { bound, change, settle, writing } from "./writing.js";
import { steel } from "./steel.js";
import { forge } from "./forge.js";
import { blade, remember } from "./blade.js";
import { fire } from "./fire.js";
import { bench } from "./bench.js";
import { shelf } from "./shelf.js";

const ROOMS = { steel: ["Steel", steel], forge: ["Forge", forge], blade: ["Blade", blade], fire: ["Fire", fire], bench: ["Bench", bench] };

export const house = { folder: null, bothForms: null, knife: null, drawn: "", place: "", room: "steel", blade: "", leave: null, get forms() { return this.bothForms[this.knife.units]; } };

// `how`: "edit", a change of a field of this page's own; "outside", one made elsewhere. Either leaves what is half done as it is.
export function take(knife, how = "") {
  const other = house.knife?.file !== knife.file;
  house.knife = knife;
  settle(knife.version);
  remember(knife);
  if (other || !knife.blades.some((b) => b.name === house.blade)) house.blade = knife.blades[0]?.name ?? "";
  for (const box of document.querySelectorAll("dialog.sheet")) box.tell?.();
  if (down) later = later === "outside" ? later : how;
  else redraw(how);
}

// Nothing is drawn anew under a finger: a button pressed or a slider held stays what it is until it is let go.
let down = false, later = null;
function lifted() {
  setTimeout(() => { // after the click that follows
    down = false;
    const how = later;
    later = null;
    if (how !== null) redraw(how);
  });
}
addEventListener("pointerdown", (e) => { down = !e.target.closest?.("select"); }, true); // a list that opens keeps the lifting to itself
addEventListener("pointermove", (e) => { if (down && !e.buttons) lifted(); }, true); // let go outside the window
for (const end of ["pointerup", "pointercancel", "blur"]) addEventListener(end, (e) => { if (e.type !== "blur" || e.target === window) lifted(); }, true);

let opening = 0;
export async function open(file, room) {
  const mine = ++opening;
  const knife = await ask("knife", { file });
  if (mine !== opening) return; // another was asked for meanwhile
  if (room) house.room = room;
  later = null;
  hidden.abort();
  hidden = new AbortController();
  take(knife);
  watch(file);
}

// A tab that is not looked at does not ask: a browser keeps few lines open to one place, and those who wait would hold them all.
// And who opens another knife waits no longer for the one before.
let hidden = new AbortController();
const shown = () => new Promise((done) => { if (document.hidden) document.addEventListener("visibilitychange", () => done(shown()), { once: true }); else done(); });
document.addEventListener("visibilitychange", () => { if (document.hidden) hidden.abort(); else hidden = new AbortController(); });

// A file changed outside is noticed, shown, and never written over blindly; what hinders the looking is said once.
let watching = 0;
async function watch(file) {
  const mine = ++watching;
  let trouble = "";
  while (mine === watching) {
    await shown();
    try {
      const { version: asked, shop: shopAsked } = house.knife;
      const { version, shop } = await ask("watch", { file, version: asked, shop: shopAsked }, hidden.signal);
      if (mine !== watching) return;
      if (trouble) say("billet answers again.");
      trouble = "";
      if (writing()) await new Promise((done) => setTimeout(done, 300)); // a change of our own, not yet answered
      else if ((version !== asked || shop !== shopAsked) && house.knife.version === asked) {
        const knife = await ask("knife", { file });
        if (mine !== watching || writing()) continue;
        say(knife.version !== asked ? "The file was changed outside this page; it is shown as it is now." : "shop.toml was changed; all is reckoned with it now.");
        take(knife, "outside");
      }
    } catch (error) {
      if (mine !== watching) return;
      if (error.name === "AbortError") continue;
      if (error.message !== trouble) say(error.message, true);
      trouble = error.message;
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
}

export function redraw(how = "") {
  const { knife, room } = house;
  document.title = `${knife.title} · ${ROOMS[room][0]} · billet`;
  document.getElementById("title").textContent = knife.title;
  document.getElementById("rooms").replaceChildren(...Object.entries(ROOMS).map(([key, [name]]) =>
    h("button", { type: "button", "aria-current": key === room ? "page" : null, onclick: () => go(key) }, name)));
  document.getElementById("tools").replaceChildren(
    h("button", { type: "button", class: "plain", disabled: !knife.can_undo, onclick: () => step("undo"), title: "Ctrl Z" }, "Take back"),
    h("button", { type: "button", class: "plain", disabled: !knife.can_redo, onclick: () => step("redo"), title: "Ctrl Y" }, "Do again"),
    h("button", { type: "button", class: "plain", onclick: text }, "Text"));
  document.getElementById("mind").replaceChildren(...knife.cautions.map((c) => h("p", {}, c)));
  const at = window.scrollY;
  const main = document.getElementById("room");
  const along = [...main.querySelectorAll(".steps")].map((list) => list.scrollLeft);
  const held = main.contains(document.activeElement), place = `${knife.file} ${room}`;
  const again = house.place === place ? halfDone(main) : null;
  [house.place, house.drawn] = [place, knife.version];
  house.leave?.(how);
  house.leave = null;
  const fresh = h("div", { class: `room ${room}` });
  if (knife.problems.length) fresh.append(troubleCard(knife, room));
  house.leave = ROOMS[room][1](fresh, house) ?? null;
  main.replaceChildren(fresh);
  const lost = again?.(main, how === "outside") ?? [];
  if (lost.length) say(`What was typed here found no place any more and was not written: ${lost.join("; ")}`, true);
  window.scrollTo(0, at);
  if (again) main.querySelectorAll(".steps").forEach((list, k) => { list.scrollLeft = along[k] ?? 0; });
  if (held && !main.contains(document.activeElement)) main.focus({ preventScroll: true }); // the Tab key goes on from here
  history.replaceState(null, "", `#${encodeURIComponent(knife.file)}/${room}`);
}

// What is wrong with the recipe, once, and the way to the step it speaks of.
function troubleCard({ problems }, room) {
  const at = problems.find((p) => p.path?.length === 4)?.path;
  const show = () => document.querySelector(`[data-path="change.${at[1]}.${at[3]}"]`)?.closest(".step").scrollIntoView({ block: "nearest", inline: "center" });
  return h("div", { class: "problem", role: "alert" }, problems.map((p) => h("p", {}, p.message)),
    at ? h("p", {}, h("button", { type: "button", onclick: () => { if (room !== "forge") go("forge"); show(); } }, "Go to the step")) : null);
}

export function go(room) {
  house.room = room;
  window.scrollTo(0, 0);
  if (!document.querySelector("#news .bad")) document.getElementById("news").replaceChildren();
  redraw();
  document.getElementById("room").focus({ preventScroll: true });
}

const SAID = { undo: "The last change of the recipe was taken back; notes in the book stay.", redo: "The change was done again." };
const step = (name) => change(name, {}, null).then((knife) => { if (knife) say(SAID[name]); }).catch((error) => say(error.message, true));

function text() {
  const area = h("textarea", { rows: 26, spellcheck: false, "aria-label": "The recipe as text", value: house.knife.text });
  const wrong = h("p", { class: "wrong", role: "alert" });
  const on = bound("text");
  const box = sheet("The recipe as text", on, area, wrong, h("button", {
    type: "button", onclick: async () => {
      try {
        await on.put({ text: area.value });
        box.close();
      } catch (error) {
        wrong.textContent = error.message;
      }
    },
  }, "Write it"));
}

document.addEventListener("keydown", (e) => {
  if (!house.knife || e.target.matches?.("input, textarea, select") || !(e.ctrlKey || e.metaKey)) return;
  const back = e.key === "z" && !e.shiftKey;
  if (!back && e.key !== "y" && !(e.key === "z" && e.shiftKey)) return;
  e.preventDefault();
  step(back ? "undo" : "redo");
});

document.getElementById("shelf").addEventListener("click", async () => {
  try {
    house.folder = await ask("folder");
    shelf(house);
  } catch (error) {
    say(error.message, true);
  }
});

// An address typed or gone back to opens what it names.
addEventListener("hashchange", () => {
  const [file, room] = heading();
  if (!file || (file === house.knife?.file && room === house.room)) return;
  if (file === house.knife?.file && room in ROOMS) go(room);
  else open(file, room in ROOMS ? room : "").catch((error) => say(error.message, true));
});

// Knife and room of the address; what is no address says neither.
function heading() {
  try {
    return decodeURIComponent(location.hash.slice(1)).split("/");
  } catch {
    return [];
  }
}

async function begin() {
  try {
    [house.folder, house.bothForms] = await Promise.all([ask("folder"), ask("forms")]);
  } catch (error) {
    say(error.message, true);
    return;
  }
  const [file, room] = heading();
  if (matchMedia("(max-width: 640px)").matches) house.room = "bench";
  if (room in ROOMS) house.room = room;
  const first = file || house.folder.open;
  try {
    if (first) await open(first);
    else shelf(house);
  } catch (error) {
    shelf(house);
    say(error.message, true);
  }
}

begin();
