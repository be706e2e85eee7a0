// Bench: the next stage, what went wrong last time, notes, and the grinder's stations; large enough for gloves.

import { ask, h, say, send, tied, warnings } from "./parts.js";
import { chooser } from "./blade.js";
import { redraw } from "./main.js";

// What is being written, by knife: nothing of it is lost when the room is drawn anew or left.
const kept = new Map();
const BARE = { note: "", stage: "", readings: [], place: "", at: "spine", bow: "", side: "left", field: "thick", thick: "" };
function keeping(house) {
  const name = `bench ${house.knife.file} ${house.blade}`;
  if (!kept.has(name)) {
    let before = {};
    try {
      before = JSON.parse(sessionStorage.getItem(name)) ?? {};
    } catch {} // of another make: begun anew
    const own = { ...BARE, readings: [], ...before };
    own.store = () => sessionStorage.setItem(name, JSON.stringify(Object.fromEntries(Object.keys(BARE).map((key) => [key, own[key]]))));
    own.out = h("section", { class: "card outcard", hidden: true, "aria-live": "polite" });
    kept.set(name, own);
  }
  return kept.get(name);
}

// A new knife begins with nothing of one that had its file before.
export function forget(file) {
  for (const name of [...kept.keys()]) if (name.startsWith(`bench ${file} `)) kept.delete(name);
}

export function bench(room, house) {
  const { knife } = house;
  if (knife.blades.length > 1) room.append(chooser(house));
  if (knife.problems.length) {
    room.append(h("div", { class: "benchroom" }, noteCard(house, h("div", {}), stageChoice(keeping(house)))));
    return;
  }
  const next = h("section", { class: "card nextcard" }, h("p", { class: "quiet" }, "Looking into the book …"));
  const stations = h("section", { class: "card stationcard" });
  const book = h("section", { class: "card bookcard" });
  const notes = h("div", {});
  const stage = stageChoice(keeping(house));
  const cards = h("div", { class: "benchroom" }, next, noteCard(house, notes, stage), stations, keeping(house).out, book);
  room.append(cards);
  ask("bench", { file: knife.file, blade: house.blade }).then((b) => {
    cards.classList.toggle("grinding", ["rough grind", "thin"].includes(b.next?.name)); // then the keys come first on a telephone
    next.replaceChildren(...nextCard(b).flat(9));
    stations.replaceChildren(...stationCard(b, house));
    notes.replaceChildren(b.notes.length ? h("ul", { class: "notes" }, b.notes.map(noteLine)) : h("p", { class: "quiet" }, "Nothing is written yet."));
    stage.replaceChildren(...b.stages.map((s) => h("option", { value: JSON.stringify(s.key) }, s.name)), h("option", { value: "null" }, "no one stage"));
    const { stage: chosen } = keeping(house);
    stage.value = chosen && [...stage.options].some((o) => o.value === chosen) ? chosen : JSON.stringify(b.next ? b.stages[b.next.number - 1].key : null);
    book.replaceChildren(h("h2", {}, "The whole life of this knife"), h("ol", { class: "stages" }, b.stages.map((s) => h("li", { class: s.done ? "done" : s.passed ? "passed" : s.number === b.next?.number ? "now" : "" }, h("b", {}, s.name), h("small", {}, tied(s.words))))));
  }).catch((error) => next.replaceChildren(h("p", { class: "wrong" }, error.message)));
}

function nextCard(b) {
  if (!b.next) return [h("h2", {}, "Every stage is noted; the knife is done.")];
  const n = b.next;
  return [h("p", { class: "quiet" }, `next, stage ${n.number} of ${n.of}`), h("h2", { class: "big" }, n.name), n.reminders.map((r) => h("p", { class: "reminder" }, r)),
    h("dl", {}, n.lines.map(([head, text]) => [h("dt", {}, head), h("dd", {}, tied(text))])), n.cautions.slice(1, 3).map((c) => h("p", { class: "caution" }, c))];
}

// Which stage a note belongs to: the next one, until another is chosen or the words themselves say one.
const stageChoice = (own) => {
  const out = h("select", { id: "notestage", onchange: () => { own.stage = out.value; own.store(); } }, h("option", { value: "null" }, "no one stage"));
  return out;
};

function noteLine(n) {
  return h("li", {}, h("small", {}, n.when), " ", n.at ? h("b", {}, `${n.at}. `) : null, tied(n.said), n.wrong ? h("span", { class: "bad" }, ` Wrong: ${n.wrong}.`) : null, n.cure ? ` Cure: ${n.cure}.` : null, n.by ? h("small", {}, ` ${n.by}`) : null);
}

function noteCard(house, notes, stage) {
  const own = keeping(house);
  const area = h("textarea", { id: "note", rows: 3, "data-path": "note", placeholder: `thick ${house.knife.units === "imperial" ? "1.5 in" : "38 mm"}, 3 heats, wrong edges cold`, value: own.note, oninput: () => { own.note = area.value; own.store(); } });
  const said = h("p", { class: "saidback", role: "status" });
  const button = h("button", { type: "button", class: "large", onclick: () => put() }, "Into the book");
  const put = async () => {
    said.textContent = area.value.trim() ? "" : "Write something first.";
    if (!area.value.trim()) return;
    button.disabled = true; // one tap, one note
    try {
      const words = area.value;
      const kept = await send("note", { file: house.knife.file, words, stage: JSON.parse(stage.value) });
      own.note = own.note.startsWith(words) ? own.note.slice(words.length).trimStart() : own.note; // what was typed meanwhile stays
      for (const box of [area, document.getElementById("note")]) if (box) box.value = own.note;
      own.stage = "";
      own.store();
      redraw();
      say(`Written down: ${kept.said}${kept.doubts.length ? ` (${kept.doubts.join("; ")})` : ""}`);
    } catch (error) {
      said.textContent = error.message;
    }
    button.disabled = false;
  };
  const quick = ["went well", "wrong ", "cure ", "bow ", "HRC ", "heats ", "took "];
  return h("section", { class: "card" }, h("h2", {}, "Write it down"), h("div", { class: "field" }, h("label", { for: "notestage" }, "after"), stage), h("label", { for: "note" }, "in your own words; nothing is refused"), area,
    h("div", { class: "chips" }, quick.map((q) => h("button", { type: "button", class: "chip", onclick: () => { area.value = `${area.value.trim()} ${q}`.trim() + (q.endsWith(" ") ? " " : ""); own.note = area.value; own.store(); area.focus(); } }, q.trim()))),
    said, button, notes);
}

// Stations typed with large keys: place, thickness, bow.
function stationCard(b, house) {
  const imperial = house.knife.units === "imperial";
  const on = keeping(house);
  if (!b.places.includes(on.place)) on.place = b.places[0] ?? "0 mm spine";
  const show = h("output", { class: "keyed", "aria-live": "polite" });
  const list = h("ul", { class: "readings" });
  const { out } = on;
  const unit = imperial ? "thou" : "mm";
  const here = () => on.place.replace("spine", on.at);
  const tell = () => {
    on.store();
    const { field, thick, bow, side, readings } = on;
    show.replaceChildren(h("span", {}, here()), h("b", { class: field === "thick" ? "on" : "" }, `${thick || "–"} ${unit}`), h("b", { class: field === "bow" ? "on" : "" }, bow ? `bow ${bow} ${unit} ${side}` : "bow –"));
    list.replaceChildren(...readings.map((r, k) => h("li", {}, h("span", {}, r), h("button", { type: "button", class: "plain", "aria-label": `take out ${r}`, onclick: () => { readings.splice(k, 1); tell(); } }, "✕"))));
  };
  const key = (k) => {
    on[on.field] = k === "⌫" ? on[on.field].slice(0, -1) : (on[on.field] + k).slice(0, 7);
    tell();
  };
  const keys = h("div", { class: "keys", role: "group", "aria-label": "number keys" }, ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"].map((k) => h("button", { type: "button", onclick: () => key(k), "aria-label": k === "⌫" ? "delete" : k === "." ? "point" : k }, k)));
  const add = () => {
    const { place, thick, bow, side, readings } = on;
    if (!thick) return;
    readings.push(`${here()} ${thick} ${unit}${bow ? ` bow ${bow} ${unit} ${side}` : ""}`);
    Object.assign(on, { place: b.places[(b.places.indexOf(place) + 1) % b.places.length], thick: "", bow: "", field: "thick" });
    chips();
    tell();
  };
  const which = h("div", { class: "chips", role: "group", "aria-label": "how far from the heel" });
  const height = h("div", { class: "chips", role: "group", "aria-label": "where across the blade" });
  const fields = h("div", { class: "chips", role: "group", "aria-label": "what is keyed in" });
  const chip = (words, pressed, onclick) => h("button", { type: "button", class: "chip", "aria-pressed": String(pressed), onclick }, words);
  const chips = () => {
    which.replaceChildren(...b.places.map((p) => chip(p.replace(" spine", ""), p === on.place, () => { on.place = p; chips(); tell(); })));
    fields.replaceChildren(chip("thickness", on.field === "thick", () => { on.field = "thick"; chips(); tell(); }),
      ...["left", "right"].map((s) => chip(`bow to the ${s}`, on.field === "bow" && on.side === s, () => { Object.assign(on, { side: s, field: "bow" }); chips(); tell(); })));
    height.replaceChildren(...["spine", "edge"].map((p) => chip(p, p === on.at, () => { on.at = p; chips(); tell(); })));
  };
  const reckon = async (to) => {
    out.hidden = false;
    out.replaceChildren(h("p", on.readings.length ? { class: "quiet" } : { class: "wrong", role: "alert" }, on.readings.length ? "Reckoning …" : "Key in a station and add it first."));
    if (!on.readings.length) return;
    try {
      const g = await send("stations", { file: house.knife.file, blade: house.blade, readings: on.readings, to });
      out.replaceChildren(h("h2", {}, to === "finished" ? "What to grind to finish" : "What to grind for hardening"), h("p", { class: "verdictline" }, tied(g.answer)), ...g.straighten.map((l) => h("p", {}, tied(l))),
        h("div", { class: "scroll" }, h("table", { class: "straight" }, h("thead", {}, h("tr", {}, g.heads.map((t) => h("th", {}, t)))), h("tbody", {}, g.rows.map((r) => h("tr", {}, r.map((c, k) => h("td", { "data-head": g.heads[k] }, c))))))),
        h("ul", {}, g.mind.map((l) => h("li", {}, tied(l)))), h("img", { alt: "maps of the thickness and of what comes off", src: g.picture }),
        h("details", {}, h("summary", {}, "How it adds up"), h("div", { class: "lines" }, g.lines.map((l) => h("p", {}, l)))), warnings(g.cautions) ?? "");
      if (g.written) say("The stations are in the book.");
    } catch (error) {
      out.replaceChildren(h("p", { class: "wrong", role: "alert" }, error.message));
    }
    out.scrollIntoView({ block: "nearest" });
  };
  chips();
  tell();
  return [h("h2", {}, "At the grinder"), h("p", { class: "quiet" }, "From the heel; edge down, tip away."), which, height, show,
    fields,
    keys, h("button", { type: "button", class: "large", id: "addstation", onclick: add }, "Add this station"), list,
    h("p", {}, h("button", { type: "button", id: "reckon", onclick: () => reckon("finished") }, "What to grind to finish"), " ", h("button", { type: "button", class: "plain", onclick: () => reckon("hardening") }, "for hardening"))];
}
