// Steel: what is in the rack, the stack in true proportion, and plans for a target.

import { ask, CLIENT, dragged, fieldset, h, many, say, send, sizesOf, tied } from "./parts.js";
import { refuse } from "./typing.js";
import { change, save } from "./writing.js";

export function steel(room, house) {
  const { knife, forms } = house;
  room.append(h("div", { class: "bars" }, knife.bars.map((bar, k) => stackCard(bar, k, knife, forms))));
  const own = searching(knife.file);
  room.append(h("div", { class: "two" }, h("div", {}, rackCard(knife), nameCard(knife, forms)), planCard(knife, forms, own)), own.out);
}

function stackCard(bar, k, knife, forms) {
  const fields = forms.tables.bar.fields;
  const sizes = ["width", "length", "repeat", "base", "cap", "uneven", "seed"];
  if (bar.joined) {
    return h("section", { class: "card" }, h("h2", {}, bar.name), h("p", {}, `joined of ${bar.joined.join(", ")}, ${bar.fields.as ?? "layers"}`), fieldset(fields, bar.path, bar.fields, save, ["join", "as"]));
  }
  return h("section", { class: "card stackcard" }, h("h2", {}, knife.bars.length > 1 ? `The first stack of the ${bar.name}` : "The first stack"),
    h("div", { class: "stackrow" }, drawing(bar), bar.fields.stack ? plates(bar, k) : h("p", { class: "quiet" }, `Laid up like ${bar.fields.like}: change its plates there.`)),
    bar.stack ? h("p", { class: "row" }, `${many(bar.stack.layers, "plate")}, ${sizesOf(bar.stack)}, ${bar.stack.weight}`) : null,
    h("div", { class: "fields" }, fieldset(fields, bar.path, bar.fields, save, bar.fields.stack ? sizes : ["uneven", "seed"])));
}

function drawing(bar) {
  if (!bar.plates.length) return null;
  const tall = bar.plates.reduce((sum, p) => sum + p.thickness_m, 0) || 1;
  const wide = bar.width_m || tall;
  const scale = Math.min(260 / wide, 340 / tall);
  let y = tall * scale;
  const rows = bar.plates.map((p) => {
    y -= p.thickness_m * scale;
    const row = h("rect", { x: 0, y, width: wide * scale, height: Math.max(0.4, p.thickness_m * scale), fill: p.wrong ? "none" : `rgb(${p.tone},${p.tone},${p.tone - 3})`, class: p.wrong ? "plate gap" : "plate" });
    row.append(document.createElementNS("http://www.w3.org/2000/svg", "title"));
    row.firstChild.textContent = p.wrong ?? p.text;
    return row;
  });
  return h("svg", { class: "stack", role: "img", "aria-label": `The stack in true proportion, ${bar.plates.length} plates`, viewBox: `-1 -1 ${wide * scale + 2} ${tall * scale + 2}`, width: wide * scale + 2, height: tall * scale + 2 }, rows);
}

// The plates of one repeat, top first as they lie; dragged by hand or moved with the arrow keys.
function plates(bar, k) {
  const stack = bar.fields.stack ?? [];
  const path = ["bar", k, "stack"];
  const wrong = h("p", { class: "wrong", role: "alert" });
  const put = (edits, input) => save(edits).catch((error) => { if (input) refuse(input, error.message); else wrong.textContent = error.message; });
  const typed = (input, at) => { const now = input.value.trim(); refuse(input, ""); if (now !== stack[at]) put([{ op: "set", path: [...path, at], value: now }], input); };
  const list = h("ol", { class: "plates", reversed: true });
  const move = (from, to) => { if (to >= 0 && to < stack.length && to !== from) put([{ op: "move", path: [...path, from], to }]); };
  for (let i = stack.length - 1; i >= 0; i--) {
    const at = i;
    const input = h("input", { type: "text", value: stack[at], "aria-label": `plate ${at + 1}, steel and thickness`, "data-path": `${path.join(".")}.${at}`, onchange: () => typed(input, at) });
    const grip = h("button", {
      type: "button", class: "grip", "aria-label": `plate ${at + 1}: drag it, or move it with the arrow keys`, "data-path": `grip.${k}.${at}`,
      onkeydown: (e) => { if (e.key === "ArrowUp" || e.key === "ArrowDown") { e.preventDefault(); move(at, at + (e.key === "ArrowUp" ? 1 : -1)); } },
    }, "⠿");
    const bad = bar.plates.find((p) => p.wrong && p.path.join() === [...path, at].join());
    if (bad) {
      input.setAttribute("aria-invalid", "true");
      wrong.textContent = bad.wrong;
    }
    const row = h("li", { "data-at": at }, grip, input, h("button", { type: "button", class: "plain", "aria-label": `take plate ${at + 1} out`, disabled: stack.length < 2, onclick: () => put([{ op: "delete", path: [...path, at] }]) }, "✕"));
    dragged(grip, row, list, (to) => move(at, to));
    list.append(row);
  }
  return h("div", { class: "platebox" }, list, h("button", { type: "button", onclick: () => put([{ op: "insert", path: [...path, stack.length], value: stack[stack.length - 2] ?? stack[0] }]) }, "Lay one more plate on top"), wrong,
    (bar.fields.repeat ?? 1) > 1 ? h("p", { class: "quiet" }, `laid ${bar.fields.repeat} times, bottom to top`) : null);
}

function nameCard(knife, forms) {
  const values = { title: knife.tables.title, units: knife.tables.units };
  return h("section", { class: "card" }, h("h2", {}, "Name and units"), h("div", { class: "fields" }, fieldset(forms.tables[""].fields, [], values, save, ["title", "units"])));
}

// One row a bar: what it is in one line, the refusal beside it; an empty row waits for the next.
function rackCard(knife) {
  const rack = knife.tables.rack ?? {};
  const bars = Array.isArray(rack.bars) ? rack.bars : [];
  const path = ["rack", "bars"];
  const rows = [...bars, ""].map((text, at) => {
    const fresh = at === bars.length;
    const wrong = h("p", { class: "wrong", id: `rack${at}w`, role: "alert" });
    const put = async (edit) => {
      refuse(input, "");
      try {
        await save([edit]);
      } catch (error) {
        refuse(input, error.message);
      }
    };
    const taken = () => (bars.length === 1 ? { op: "delete", path } : { op: "delete", path: [...path, at] });
    const written = (now) => (bars.length ? { op: fresh ? "insert" : "set", path: [...path, at], value: now } : { op: "set", path, value: [now] });
    const input = h("input", {
      type: "text", value: text, placeholder: knife.units === "imperial" ? "2 of 1084 1/8 x 1 1/2 x 48 in" : "2 of 1084 3 x 40 x 1000 mm", autocomplete: "off", spellcheck: false, "data-path": `rack.bars.${at}`,
      "aria-label": fresh ? "one more bar in the rack" : `bar ${at + 1} of the rack`, "aria-describedby": `rack${at}w rackhelp`,
      onchange: () => { const now = input.value.trim(); if (now !== text) put(now ? written(now) : taken()); },
    });
    const out = fresh ? null : h("button", { type: "button", class: "plain", "aria-label": `take bar ${at + 1} out of the rack`, onclick: () => put(taken()) }, "✕");
    return h("li", {}, h("div", { class: "rackrow" }, input, out), wrong);
  });
  return h("section", { class: "card" }, h("h2", {}, "In the rack"), h("ul", { class: "rack" }, rows),
    h("p", { class: "quiet", id: "rackhelp" }, "How many, steel, thickness x width x length. Plans are cut from these; with none, they say what to buy."),
    rack.bar?.length ? h("p", { class: "quiet" }, `and ${rack.bar.length} more in the text`) : null);
}

// A search and what was asked of it stay, by knife, however often the room is drawn anew.
const searches = new Map();
function searching(file) {
  if (!searches.has(file)) searches.set(file, { asked: {}, job: null, busy: false, out: h("div", { class: "plans", "aria-live": "polite" }) });
  return searches.get(file);
}

// The pattern a recipe makes already, by its joins and the step that makes it.
function making(knife, choices) {
  const verbs = knife.bars.flatMap((b) => b.steps.map((s) => (s.do === "split" ? "feather" : s.do)));
  if (knife.bars.some((b) => b.joined)) return verbs.includes("twist") ? "multi-bar" : undefined;
  return choices.find((c) => verbs.includes(c));
}

function planCard(knife, forms, own) {
  const names = ["pattern", "layers", "line", "carbon", "dark"];
  const { out, asked } = own;
  const patterns = forms.tables.target.fields.find((f) => f.name === "pattern").choices;
  const target = { pattern: making(knife, patterns), ...(knife.tables.target ?? {}) };
  const fields = fieldset(forms.tables.target.fields, ["target"], { ...target, ...asked }, async ([edit]) => { asked[edit.path.at(-1)] = edit.op === "delete" ? "" : edit.value; }, names);
  const stop = h("button", { type: "button", class: "plain", hidden: !own.busy, onclick: () => own.job && send("plan/stop", { job: own.job }).catch((e) => say(e.message, true)) }, "Enough, show the best so far");
  const seek = h("button", { type: "button", disabled: own.busy, onclick: () => run().catch((e) => out.replaceChildren(h("p", { class: "wrong" }, e.message))).finally(() => ready(false)) }, "Find plans");
  own.ready = (busy) => { seek.disabled = busy; stop.hidden = !busy; };
  const ready = (busy) => { own.busy = busy; own.ready(busy); }; // on the card as it is drawn now
  async function run() {
    ready(true);
    const wanted = Object.fromEntries(Object.entries({ ...target, ...asked }).filter(([k, v]) => names.includes(k) && v !== "" && v !== undefined));
    let state = await send("plan", { file: knife.file, target: wanted, client: CLIENT });
    own.job = state.job;
    while (!state.done) {
      out.replaceChildren(h("p", { class: "quiet" }, `${state.words} …`));
      await new Promise((d) => setTimeout(d, 500));
      state = await ask("plan", { job: own.job });
    }
    out.replaceChildren(state.failed ? h("p", { class: "wrong" }, state.words) : h("p", { class: "quiet" }, state.why[0] ?? ""),
      ...state.candidates.map((c) => planTag(c, state.job)));
  }
  function planTag(c, number) {
    const took = h("p", { class: "took", role: "status" });
    const take = () => change("plan/take", { job: number, rank: c.rank }).then(() => {
      for (const other of out.querySelectorAll(".tag .took")) other.textContent = "";
      took.textContent = "This is now your recipe; Take back undoes it.";
      say("The plan is now the recipe; Take back undoes it.");
    }).catch((e) => say(e.message, true));
    return h("article", { class: "tag" }, h("img", { alt: `the face plan ${c.rank + 1} gives`, src: `/api/plan/picture?job=${number}&rank=${c.rank}` }),
      h("h3", {}, `${c.rank + 1}. ${c.short}`), c.rank ? h("p", { class: "quiet" }, c.why) : null,
      h("details", { open: c.rank === 0 }, h("summary", {}, "Step by step"), h("div", { class: "lines hanging" }, c.lines.map((l) => h("p", {}, tied(l.trim()))))),
      took, h("button", { type: "button", onclick: take }, "Take this plan"));
  }
  return h("section", { class: "card" }, h("h2", {}, "Plan backwards"), h("p", { class: "quiet" }, "From the finished blade to the first stack."), h("div", { class: "fields" }, fields), h("p", {}, seek, " ", stop));
}
