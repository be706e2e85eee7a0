// Fire: the heat treatment as one card to be read from two metres, and why.

import { ask, fieldset, h, tied, warnings } from "./parts.js";
import { chooser } from "./blade.js";
import { save } from "./writing.js";

const SEEN = 3; // warnings in sight; the rest behind a word

export function fire(room, house) {
  const { knife, forms } = house;
  const card = h("section", { class: "card firecard" }, h("p", { class: "quiet" }, "Reckoning …"));
  const more = h("div", {});
  const asked = h("section", { class: "card" }, h("h2", {}, "Asked for"), h("div", { class: "fields" }, fieldset(forms.tables.hardening.fields, ["hardening"], knife.tables.hardening, save)));
  if (knife.blades.length > 1) room.append(chooser(house));
  if (knife.problems.length) {
    room.append(asked);
    return;
  }
  room.append(h("div", { class: "two wide" }, card, asked), more);
  ask("fire", { file: knife.file, blade: house.blade }).then((f) => {
    card.replaceChildren(h("dl", {}, f.card.map(([name, text]) => [h("dt", {}, name), h("dd", {}, tied(text))])), ...f.cautions.slice(0, 3).map((c) => h("p", { class: "caution" }, c)));
    const [first, rest] = [f.mind.slice(0, SEEN), f.mind.slice(SEEN)];
    more.replaceChildren(
      f.mind.length ? h("section", { class: "card" }, h("h2", {}, "Mind"), warnings(first.map(tied)), rest.length ? h("details", {}, h("summary", {}, `${rest.length} more`), warnings(rest.map(tied))) : "") : "",
      h("div", { class: "two" }, h("section", { class: "card" }, h("h2", {}, "Hardness after two cycles of two hours"), tempers(f.tempers)), h("section", { class: "card" }, h("h2", {}, "Carbon through the bar"), carbon(f.carbon), warnings(f.carbon.words.map(tied)))),
      h("section", { class: "card" }, h("h2", {}, "Layer by layer"), h("div", { class: "scroll" }, h("table", {}, h("thead", {}, h("tr", {}, ["layer", "share", "carbon", "as quenched, HRC"].map((t) => h("th", {}, t)))), h("tbody", {}, f.layers.map((r) => h("tr", {}, r.map((c) => h("td", {}, c)))))))),
      h("section", { class: "card" }, h("h2", {}, "More about it"), [...Object.entries(f.steps), ["Sources and cautions", [...f.sources, ...f.cautions]]].map(([name, lines]) => h("details", {}, h("summary", {}, name), h("ul", {}, lines.map((l) => h("li", {}, tied(l))))))));
  }).catch((error) => card.replaceChildren(h("p", { class: "wrong" }, error.message)));
}

function frame(label, body, left, right, low, high, unit) {
  return h("svg", { viewBox: "0 0 480 220", class: "chart", role: "img", "aria-label": label },
    [0, 0.5, 1].map((s) => h("line", { x1: 48, x2: 470, y1: 190 - 170 * s, y2: 190 - 170 * s, class: "grid" })),
    [0, 0.5, 1].map((s) => h("text", { x: 42, y: 194 - 170 * s, class: "tick end" }, figure(low + (high - low) * s))),
    h("text", { x: 48, y: 212, class: "tick" }, left), h("text", { x: 470, y: 212, class: "tick end" }, right), h("text", { x: 48, y: 14, class: "tick" }, unit), body);
}

// Ends of a scale whose ends and middle are all whole steps.
function ends(values, step) {
  const low = Math.floor(Math.min(...values) / step + 1e-9), high = Math.max(low + 2, Math.ceil(Math.max(...values) / step - 1e-9));
  return [low * step, (high + ((high - low) % 2)) * step];
}

const figure = (v) => (Math.abs(v) < 10 ? v.toFixed(2) : v.toFixed(0));

function tempers(rows) {
  if (!rows.length) return h("p", {}, "It cannot be told for these steels; the reason stands under Mind.");
  const [low, high] = ends(rows.flatMap((r) => r.hrc), 1);
  const x = (k) => 60 + (400 * k) / Math.max(1, rows.length - 1), y = (v) => 190 - (170 * (v - low)) / (high - low);
  const body = [h("path", { class: "band", d: `M${rows.map((r, k) => `${x(k)} ${y(r.hrc[2])}`).join("L")}L${rows.map((r, k) => `${x(k)} ${y(r.hrc[0])}`).reverse().join("L")}Z` }), h("polyline", { class: "curve", points: rows.map((r, k) => `${x(k)},${y(r.hrc[1])}`).join(" ") })];
  return [frame("hardness after the temper, with its range", body, rows[0].at, rows.at(-1).at, low, high, "HRC"), h("p", { class: "quiet" }, tied(rows.map((r) => `${r.at}: ${r.hrc[1].toFixed(1)}`).join(" · ")))];
}

function carbon(c) {
  if (!c.depth.length) return h("p", {}, "-");
  const [low, high] = ends([...c.carbon, c.mean], 0.05);
  const end = c.depth.at(-1) || 1;
  const x = (d) => 48 + (422 * d) / end, y = (v) => 190 - (170 * (v - low)) / (high - low);
  const body = [h("line", { x1: 48, x2: 470, y1: y(c.mean), y2: y(c.mean), class: "mean" }), h("polyline", { class: "curve thin", points: c.depth.map((d, k) => `${x(d).toFixed(1)},${y(c.carbon[k]).toFixed(1)}`).join(" ") })];
  return frame(`carbon through the thickness, mean ${figure(c.mean)} percent`, body, "bottom face", `top face, ${figure(end)} ${c.unit}`, low, high, "% C");
}
