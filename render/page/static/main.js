// The page: one knife at a time, five rooms in the order of the work. The recipe's text is the truth; everything here shows it.

import { ask, h, Refused, say, send, sheet } from "./parts.js";
import { steel } from "./steel.js";
import { forge } from "./forge.js";
import { blade, remember } from "./blade.js";
import { fire } from "./fire.js";
import { bench } from "./bench.js";
import { shelf } from "./shelf.js";

const ROOMS = { steel: ["Steel", steel], forge: ["Forge", forge], blade: ["Blade", blade], fire: ["Fire", fire], bench: ["Bench", bench] };

export const house = { folder: null, bothForms: null, knife: null, room: "steel", blade: "", leave: null, get forms() { return this.bothForms[this.knife.units]; } };

// Every change goes through here: written by the server or refused in its own words.
export async function save(edits) {
  await change("edit", { edits });
}

let writing = 0;
export async function change(name, data = {}) {
  const { file, version } = house.knife;
  writing += 1;
  try {
    take(await send(name, { file, version, ...data }), name === "edit");
  } catch (error) {
    if (error instanceof Refused && error.status === 409) await outside(error.message);
    throw error;
  } finally {
    writing -= 1;
  }
}

async function outside(message) {
  take(await ask("knife", { file: house.knife.file }));
  say(`${message}. It is shown as it is now; do your change again if it is still wanted.`, true);
}

// `edited`: by an edit of this page's own; what was dragged while it was under way then stays dragged.
function take(knife, edited = false) {
  const other = !house.knife || house.knife.file !== knife.file;
  house.knife = knife;
  remember(knife);
  if (other || !knife.blades.some((b) => b.name === house.blade)) house.blade = knife.blades[0]?.name ?? "";
  redraw(edited);
}

export async function open(file, room) {
  if (room) house.room = room;
  house.knife = null;
  take(await ask("knife", { file }));
  watch(file);
}

// A file changed outside is noticed, shown, and never written over blindly.
let watching = 0;
async function watch(file) {
  const mine = ++watching;
  while (mine === watching) {
    try {
      const asked = house.knife.version;
      const { version } = await ask("watch", { file, version: asked });
      if (mine !== watching) return;
      if (writing) await new Promise((done) => setTimeout(done, 300)); // a change of our own, not yet answered
      else if (version !== asked && house.knife.version === asked) {
        take(await ask("knife", { file }));
        say("The file was changed outside this page; it is shown as it is now.");
      }
    } catch (error) {
      if (mine !== watching) return;
      if (error.status === 0) gone();
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
}

let told = false;
function gone() {
  if (!told) say("billet is not running any more; start it again with billet open. What was saved is safe.", true);
  told = true;
}

export function redraw(edited = false) {
  const { knife, room } = house;
  document.title = `${knife.title} · ${ROOMS[room][0]} · billet`;
  document.getElementById("title").textContent = knife.title;
  document.getElementById("rooms").replaceChildren(...Object.entries(ROOMS).map(([key, [name]]) =>
    h("button", { type: "button", "aria-current": key === room ? "page" : null, onclick: () => go(key) }, name)));
  document.getElementById("tools").replaceChildren(
    h("button", { type: "button", class: "plain", disabled: !knife.can_undo, onclick: () => change("undo").catch((e) => say(e.message, true)), title: "Ctrl Z" }, "Take back"),
    h("button", { type: "button", class: "plain", disabled: !knife.can_redo, onclick: () => change("redo").catch((e) => say(e.message, true)), title: "Ctrl Y" }, "Do again"),
    h("button", { type: "button", class: "plain", onclick: text }, "Text"));
  document.getElementById("mind").replaceChildren(...knife.cautions.map((c) => h("p", {}, c)));
  const at = window.scrollY;
  const main = document.getElementById("room");
  const held = main.contains(document.activeElement), focus = document.activeElement?.dataset?.path;
  house.leave?.(edited);
  house.leave = null;
  const fresh = h("div", { class: `room ${room}` });
  if (knife.problems.length && room !== "forge") fresh.append(h("div", { class: "problem", role: "alert" }, knife.problems.map((p) => h("p", {}, p.message))));
  house.leave = ROOMS[room][1](fresh, house) ?? null;
  main.replaceChildren(fresh);
  window.scrollTo(0, at);
  if (focus) main.querySelector(`[data-path="${CSS.escape(focus)}"]`)?.focus();
  if (held && !main.contains(document.activeElement)) main.focus({ preventScroll: true }); // the Tab key goes on from here
  history.replaceState(null, "", `#${encodeURIComponent(knife.file)}/${room}`);
}

export function go(room) {
  house.room = room;
  window.scrollTo(0, 0);
  redraw();
  document.getElementById("room").focus({ preventScroll: true });
}

function text() {
  const area = h("textarea", { rows: 26, spellcheck: false, "aria-label": "The recipe as text", value: house.knife.text });
  const wrong = h("p", { class: "wrong", role: "alert" });
  const box = sheet("The recipe as text", area, wrong, h("button", {
    type: "button", onclick: async () => {
      try {
        await change("text", { text: area.value });
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
  change(back ? "undo" : "redo").catch((error) => say(error.message, true));
});

document.getElementById("shelf").addEventListener("click", () => shelf(house));

async function begin() {
  try {
    [house.folder, house.bothForms] = await Promise.all([ask("folder"), ask("forms")]);
    const [file, room] = decodeURIComponent(location.hash.slice(1)).split("/");
    const known = house.folder.knives.map((k) => k.file);
    if (matchMedia("(max-width: 640px)").matches) house.room = "bench";
    if (room in ROOMS) house.room = room;
    const first = house.folder.open || (known.includes(file) ? file : null);
    if (first) await open(first);
    else shelf(house);
  } catch (error) {
    say(error.message, true);
  }
}

begin();
