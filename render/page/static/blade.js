// Blade: both faces live. The newest wish wins; quick pictures while the finger moves, a fine one when it rests.

import { ask, CLIENT, h, say, SILENT, tied, warnings } from "./parts.js";
import { redraw } from "./main.js";
import { figures, firstFigures } from "./shape.js";
import { save } from "./writing.js";
import { turn } from "./turn.js";

let wishes = 0;

export function blade(room, house) {
  const { knife } = house;
  if (!knife.blades.length) {
    if (!knife.problems.length) room.append(firstFigures(house));
    return null;
  }
  if (knife.problems.length) {
    room.append(chooser(house), h("p", {}, "No picture until the steps can be done."), ...figures(house));
    return null;
  }
  const moved = new Map();
  const look = h("div", { class: "table", tabindex: 0, role: "img", "aria-label": "both faces of the knife" });
  const face = h("img", { class: "face", alt: "both faces of the knife, left above right", draggable: false });
  const spot = h("div", { class: "spot", "aria-live": "polite" });
  const took = h("p", { class: "quiet took" });
  const holds = h("div", { class: "holds", "aria-live": "polite" });
  look.append(face);
  const pen = drawer(face, took);
  const fits = verdict(holds, house, moved);
  const wish = (quick) => {
    look.querySelector(".ring")?.remove();
    if (!quick) fits();
    pen.want({ ...query(house, moved), quality: quick ? "drag" : "settled", width: quick ? STEP * Math.max(5, Math.round(pace * wide(look, 1) / STEP)) : wide(look, 2) });
  };
  const sliders = h("section", { class: "card sliders" }, h("h2", {}, "By hand"), h("p", { class: "quiet" }, "Loading …"));
  const under = h("div", { class: "under" });
  room.append(chooser(house), h("div", { class: "bladeroom" }, h("div", { class: "seen" }, look, took, holds, spot), sliders, under));

  ask("shapes", { file: knife.file, blade: house.blade }).then(({ shapes }) => {
    const lost = takeUp(waiting(house), shapes, moved);
    hold(moved);
    if (lost.length) say(`The recipe was changed since, so these sliders stand as it says: ${lost.join(", ")}.`);
    sliders.replaceChildren(h("h2", {}, "By hand"), ...shapes.map((s) => slider(s, moved, wish)), keepers(house, moved, sliders));
    if (moved.size) wish(false);
  }).catch((error) => sliders.replaceChildren(h("p", { class: "wrong" }, error.message)));

  face.addEventListener("click", (e) => where(e, face, pen, house, moved, spot));
  under.append(...figures(house), turn(house), ...extras(house, moved));
  requestAnimationFrame(() => wish(false));
  const sized = () => wish(false);
  const stays = new ResizeObserver(() => { // the picture stays in sight where it leaves room, and nothing goes under it unseen
    const tall = look.offsetHeight, small = tall < 0.55 * innerHeight;
    look.classList.toggle("stays", small);
    document.documentElement.style.scrollPaddingTop = small ? `${tall + 12}px` : "";
  });
  stays.observe(look);
  addEventListener("resize", sized);
  return () => {
    removeEventListener("resize", sized);
    stays.disconnect();
    document.documentElement.style.scrollPaddingTop = "";
    pen.stop();
  };
}

// While the finger moves a picture is drawn as large as this machine draws it in time, and whole when the finger rests.
const IN_TIME = 75; // milliseconds
const STEP = 60; // pixels; few widths, since each has tables of its own
let pace = 1;
const keepPace = (spent) => { pace = Math.min(1, Math.max(0.3, pace * Math.min(1.25, Math.max(0.6, IN_TIME / spent)))); };
const wide = (node, fine) => Math.round(Math.min(fine > 1 ? 2200 : 1000, Math.max(300, node.clientWidth * (fine > 1 ? Math.min(2, devicePixelRatio || 1) : 1))));

function query(house, moved) {
  const out = { file: house.knife.file, blade: house.blade, view: "both" };
  for (const [shape, value] of moved) {
    if (shape.name === "grind") out.grind_m = (value * shape.size).toFixed(8);
    else if (shape.name === "offset") out.offset_m = (value * shape.size).toFixed(8);
    else if (shape.name === "light") out.light_rad = (value * shape.size).toFixed(5);
  }
  const edits = written([...moved].filter(([s]) => s.path && !["offset", "light"].includes(s.name)));
  if (edits.length) out.edits = JSON.stringify(edits);
  return out;
}

const figure = (value) => String(Math.round(value * 1000) / 1000);

// What was moved as edits: first, once each, what has to be there besides; then the moved numbers themselves.
function written(moves) {
  const sets = moves.map(([shape, value]) => ({ op: "set", path: shape.path, value: shape.unit ? `${figure(value)} ${shape.unit}` : Number(figure(value)) }));
  const own = new Set(sets.map((one) => one.path.join()));
  const besides = new Map(moves.flatMap(([shape]) => shape.also).map((one) => [one.path.join(), one]));
  return [...[...besides].filter(([path]) => !own.has(path)).map(([, one]) => one), ...sets];
}

// One picture under way, one wish waiting; a newer wish takes the place of the waiting one.
function drawer(image, took) {
  let busy = false, next = null, address = null, stopped = false, places = [];
  async function go() {
    if (busy || !next || stopped) return;
    const wish = next;
    next = null;
    busy = true;
    const begun = performance.now();
    try {
      const words = new URLSearchParams({ ...wish, client: CLIENT, wish: ++wishes });
      const reply = await fetch(`/api/draw?${words}`);
      if (reply.status === 200) {
        places = JSON.parse(reply.headers.get("x-places") || "[]");
        const fresh = URL.createObjectURL(await reply.blob());
        image.src = fresh;
        await image.decode().catch(() => {});
        if (address) URL.revokeObjectURL(address);
        address = fresh;
        const spent = performance.now() - begun;
        if (wish.quality === "drag") keepPace(spent);
        image.dataset.took = spent.toFixed(1);
        image.dataset.quality = wish.quality;
        image.dataset.wish = wishes;
        took.textContent = "";
      } else if (reply.status !== 204) {
        const { errors } = await reply.json();
        took.textContent = errors.map((e) => e.message).join(" ");
      }
    } catch {
      took.textContent = SILENT;
    }
    busy = false;
    go();
  }
  return {
    want(wish) { next = wish; go(); },
    stop() { stopped = true; if (address) URL.revokeObjectURL(address); },
    get places() { return places; },
  };
}

function slider(shape, moved, wish) {
  const id = `s-${shape.name.replaceAll(" ", "-")}`;
  const out = h("output", { for: id }, said(shape, moved.get(shape) ?? shape.value));
  const input = h("input", { type: "range", id, min: String(shape.low), max: String(shape.high), step: String(shape.step), value: String(moved.get(shape) ?? shape.value), "data-shape": shape.name });
  let rest = 0;
  input.addEventListener("input", () => {
    const value = Number(input.value);
    moved.set(shape, value);
    hold(moved);
    out.textContent = said(shape, value);
    wish(true);
    clearTimeout(rest);
    rest = setTimeout(() => wish(false), 350);
  });
  return h("div", { class: "field slide" }, h("label", { for: id }, shape.words), out, input);
}

const said = (shape, value) => {
  if (shape.name !== "grind") return `${figure(value)} ${shape.unit}`.trim();
  return Math.abs(value) < 1e-9 ? "as finished" : `${figure(Math.abs(value))} ${shape.unit} a face ${value > 0 ? "deeper" : "to go"}`;
};

// Sliders that were moved and not kept wait, by knife: for a save under way, a change made elsewhere, another room, a reload.
const place = (house) => `moved ${house.knife.file} ${house.blade}`;
let here = "";
function waiting(house) {
  here = place(house);
  try {
    return JSON.parse(sessionStorage.getItem(here)) ?? {};
  } catch {
    return {};
  }
}
function hold(moved, where = here) {
  sessionStorage.setItem(where, JSON.stringify(Object.fromEntries([...moved].map(([s, value]) => [s.name, { value, words: s.words, unit: s.unit, from: [s.value, ...(sent.get(s.name) ?? [])] }]))));
}

// A slider goes on waiting where the recipe says of it what it said, or what was kept of it meanwhile; the names of the others.
const ROUNDED = 6e-4; // a figure is written with three decimals
const sent = new Map(); // by slider: the figures that were sent to be kept
function takeUp(held, shapes, moved) {
  const lost = [];
  for (const [name, { value, words, unit, from }] of Object.entries(held)) {
    const s = shapes.find((one) => one.name === name && one.words === words && one.unit === unit);
    const near = s && from?.some((one) => Math.abs(one - s.value) <= ROUNDED);
    if (near && value >= s.low - 1e-9 && value <= s.high + 1e-9) moved.set(s, value);
    else lost.push(words ?? name);
  }
  sent.clear();
  return lost;
}

// What was dragged is kept in the recipe when asked for; ground deeper is a look and never kept.
function keepers(house, moved, card) {
  const keep = h("button", { type: "button", id: "keep", disabled: true, onclick: async () => {
    const going = new Map([...moved].filter(([s]) => s.path)), mine = here;
    for (const [s, value] of going) {
      moved.delete(s); // what is moved from now on waits for itself
      sent.set(s.name, [value]);
    }
    hold(moved);
    try {
      await save(written([...going]));
      say("Kept in the recipe; Take back undoes it.");
    } catch (error) {
      for (const [s, value] of going) if (!moved.has(s)) moved.set(s, value);
      sent.clear();
      hold(moved, mine);
      say(error.message, true);
    }
  } }, "Keep it in the recipe");
  const back = h("button", { type: "button", class: "plain", disabled: true, onclick: () => { hold(new Map()); redraw(); } }, "As it was");
  const ready = () => { keep.disabled = ![...moved.keys()].some((s) => s.path); back.disabled = !moved.size; };
  card.addEventListener("input", ready);
  ready();
  return h("p", { class: "keepers" }, keep, " ", back);
}

// Whether the bar holds the knife as it is wished; asked when the finger rests.
function verdict(out, house, moved) {
  const show = ([first, ...rest], mind) => out.replaceChildren(h("b", {}, first), " ", rest.map(tied).join(", "), warnings(mind.map(tied)) ?? "");
  let asked = 0;
  return async () => {
    const mine = ++asked;
    const { lines, mind } = await ask("holds", query(house, moved)).catch((error) => ({ lines: [error.message], mind: [] }));
    if (mine === asked && lines.length) show(lines, mind);
  };
}

// Which knife of the bar: one is chosen for Blade, Fire and Bench alike.
export function chooser(house) {
  const { blades } = house.knife;
  if (blades.length < 2) return h("p", { class: "quiet" }, blades[0].words);
  return h("div", { class: "choose", role: "group", "aria-label": "Which knife of the bar" }, blades.map((b) => h("button", { type: "button", "aria-pressed": String(b.name === house.blade), onclick: () => { house.blade = b.name; redraw(); } }, b.name, h("small", {}, b.words))));
}

const sentence = (words) => `${words[0].toUpperCase()}${words.slice(1).replace(/[.:]$/, "")}.`;

// Point at a line: what is it?
function where(event, image, pen, house, moved, spot) {
  const box = image.getBoundingClientRect();
  const scale = image.naturalWidth / box.width;
  const col = (event.clientX - box.left) * scale, row = (event.clientY - box.top) * scale;
  const view = pen.places.find((p) => col >= p.left_px && col < p.left_px + p.columns && row >= p.top_px && row < p.top_px + p.rows);
  if (!view) return;
  const x = view.left_m + (col - view.left_px) * view.pixel_m, y = view.top_m - (row - view.top_px) * view.pixel_m;
  const table = image.parentElement, frame = table.getBoundingClientRect(), ring = h("i", { class: "ring" });
  ring.style.left = `${event.clientX - frame.left}px`;
  ring.style.top = `${event.clientY - frame.top}px`;
  table.querySelector(".ring")?.remove();
  table.append(ring);
  spot.replaceChildren(h("p", { class: "quiet" }, "Following it back …"));
  ask("where", { ...query(house, moved), face: view.view, x_m: view.view === "left" ? -x : x, y_m: y })
    .then(({ lines, if_open: open }) => spot.replaceChildren(h("h3", {}, "What is this line?"), ...lines.map((l, k) => h("p", { class: k ? "" : "quiet" }, tied(sentence(l)))),
      open.length ? h("details", {}, h("summary", {}, "If the weld shows as a gap"), open.map((l) => h("p", {}, l.replace("Opened up here? Stop", "Stop")))) : ""))
    .catch((error) => spot.replaceChildren(h("p", { class: "wrong" }, error.message)));
}

function extras(house, moved) {
  const strip = h("div", { class: "strip" });
  const split = h("div", { class: "splitbox" });
  const lazily = (words, fill, target) => h("details", { ontoggle: (e) => { if (e.target.open && !target.childNodes.length) fill(target); } }, h("summary", {}, words), target);
  return [
    lazily("As it is ground deeper", (to) => filmstrip(house, to), strip),
    lazily("Beside an earlier version", (to) => versions(house, to), split),
    lazily("Spine and choil", (to) => to.append(...["spine", "choil"].map((view) => h("img", { alt: `${view} of the knife`, src: `/api/draw?${new URLSearchParams({ file: house.knife.file, blade: house.blade, view, width: Math.round(Math.min(1400, Math.max(500, to.clientWidth))), at: house.knife.version })}` }))), h("div", { class: "thin" })),
  ];
}

function filmstrip(house, to) {
  ask("filmstrip", { file: house.knife.file, blade: house.blade }).then(({ pictures }) => to.replaceChildren(...pictures.map((p) => h("figure", {}, h("img", { alt: p.words, src: p.url }), h("figcaption", {}, p.words))))).catch((e) => to.replaceChildren(h("p", { class: "wrong" }, e.message)));
}

// Two versions under one slider: the one before the last change, and the one now.
const seen = new Map();
export function remember(knife) {
  const list = seen.get(knife.file) ?? [];
  if (list.at(-1) !== knife.version) list.push(knife.version);
  seen.set(knife.file, list.slice(-30));
}

function versions(house, to) {
  const list = (seen.get(house.knife.file) ?? []).filter((v) => v !== house.knife.version);
  if (!list.length) {
    to.replaceChildren(h("p", { class: "quiet" }, "Nothing was changed yet since the page was opened."));
    return;
  }
  const address = (at) => `/api/draw?${new URLSearchParams({ file: house.knife.file, blade: house.blade, view: "right", width: 1400, at })}`;
  const older = h("img", { class: "older", alt: "the earlier version", src: address(list.at(-1)) });
  const box = h("div", { class: "split" }, h("img", { alt: "now", src: address(house.knife.version) }), older);
  const seam = h("i", { class: "seam" });
  box.append(seam);
  const set = (value) => { older.style.clipPath = `inset(0 ${100 - value}% 0 0)`; seam.style.left = `${value}%`; };
  const input = h("input", { type: "range", min: "0", max: "100", value: "50", "aria-label": "how much of the earlier version is shown, from the left", oninput: (e) => set(e.target.value) });
  const which = list.length > 1 ? h("select", { "aria-label": "which earlier version", onchange: (e) => { older.src = address(e.target.value); } }, list.toReversed().map((v, k) => h("option", { value: v }, k ? `${k + 1} changes ago` : "before the last change"))) : h("p", { class: "quiet" }, "left of the mark: before the last change");
  to.replaceChildren(box, input, which);
  set(50);
}
