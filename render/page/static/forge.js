// Forge: the steps as tags in a row; on each the bar after it, its line of the ledger, and its warnings where they arise.

import { dragged, fieldset, h, many, plain, say, sheet, sizesOf, tied, warnings } from "./parts.js";
import { house } from "./main.js";
import { bound, save } from "./writing.js";

export function forge(room, { knife, forms }) {
  if (knife.answer.length) room.append(h("section", { class: "card verdict" }, knife.answer.map((a, k) => h(k ? "span" : "b", {}, a))));
  const largest = Math.max(...knife.bars.flatMap((b) => b.steps.map((s) => s.row?.size_m[0] ?? 0)), 0.05);
  for (const [k, bar] of knife.bars.entries()) room.append(row(bar, k, knife, forms, largest));
  room.append(h("details", { class: "card" }, h("summary", {}, "The shop: its fire, its press, its habits and prices"), h("p", { class: "quiet" }, "What shop.toml beside the recipes says holds for all of them; what is written here, for this one."),
    h("div", { class: "fields" }, fieldset(forms.tables.shop.fields.filter((f) => f.name !== "fitted"), ["shop"], knife.tables.shop, save))));
}

function row(bar, k, knife, forms, largest) {
  const wrong = knife.problems;
  const own = !bar.like; // a bar that is like an earlier one is changed there
  const tags = [];
  tags.push(tag(bar, { do: "stack", first: 0, number: 0, told: [bar.laid].filter(Boolean), fields: {}, row: bar.stack, warnings: [], path: bar.path }, knife, largest, null, wrong));
  bar.steps.forEach((step, at) => tags.push(tag(bar, step, knife, largest, own ? tools(bar, k, step, at, forms) : null, wrong)));
  const list = h("ol", { class: "steps", start: 0 }, tags, own ? h("li", { class: "add" }, adder(bar, k, bar.steps.length, forms, "Add a step")) : null);
  if (own) tags.slice(1).forEach((one, at) => moved(one, at, bar, k, list));
  return h("section", { class: "barrow" }, h("header", {}, h("h2", {}, knife.bars.length > 1 ? bar.name : "Step by step"), along(list, bar)), own ? null : h("p", { class: "quiet" }, `like ${bar.like}: change it there`), list);
}

// How many steps there are, and the way along them where they do not all stand in sight.
function along(list, bar) {
  const go = (by) => list.scrollBy({ left: by * 0.8 * list.clientWidth, behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  const back = h("button", { type: "button", class: "plain", "aria-label": "earlier steps", onclick: () => go(-1) }, "←", h("span", {}, " earlier")), on = h("button", { type: "button", class: "plain", "aria-label": "later steps", onclick: () => go(1) }, h("span", {}, "later "), "→");
  const out = h("p", { class: "along" }, h("span", { class: "quiet" }, bar.steps.length ? many(bar.steps.length, "step") : "no step yet"), back, on);
  const ready = () => {
    const rest = list.scrollWidth - list.clientWidth;
    back.hidden = on.hidden = rest < 2;
    back.disabled = list.scrollLeft < 8; // the snapping leaves some
    on.disabled = list.scrollLeft > rest - 8;
  };
  list.addEventListener("scroll", ready);
  new ResizeObserver(ready).observe(list);
  return out;
}

function tag(bar, step, knife, largest, buttons, problems) {
  const same = (p) => p.path && p.path.join() === step.path.join() && step.do !== "stack";
  const name = step.do.replaceAll("_", " ");
  const number = step.number === null ? "?" : step.first !== step.number ? `${step.first}–${step.number}` : String(step.number);
  return h("li", { class: "tag step" }, h("header", {}, h("b", { class: "number" }, number), h("h3", {}, name)),
    step.row ? pictures(bar, step, knife, largest) : h("div", { class: "unknown" }, "not reached"),
    step.row ? h("p", { class: "row" }, sizesOf(step.row), h("br"), `${step.row.weight}, ${many(step.row.layers, "layer")}${step.row.lost ? `, ${step.row.lost} lost` : ""}`) : null,
    told(step, name).map((l) => h("p", {}, tied(l))), problems.filter(same).map((p) => h("p", { class: "wrong", role: "alert" }, p.short)), warnings(step.warnings), buttons);
}

// What is done, a line each for a step and the weld and draw of its own; of one not reached, what it was told.
function told(step, name) {
  if (step.told.length) return step.told;
  return [Object.entries(step.fields).filter(([key, value]) => key !== "do" && typeof value !== "object").map(([key, value]) => `${key.replaceAll("_", " ")} ${value === true ? "yes" : value === false ? "no" : value}`).join(", ") || name];
}

// End and face of the bar after the step: the end at one scale on every tag of the bar, the face as long as the bar is among all.
function pictures(bar, step, knife, largest) {
  const [long, wide, thick] = step.row.size_m;
  const scale = 128 / Math.max(...[...bar.steps.map((s) => s.row), bar.stack].filter(Boolean).flatMap((r) => [r.size_m[1], r.size_m[2]]));
  const address = (view, width) => `/api/draw?${new URLSearchParams({ file: knife.file, view, width, after: `${bar.name}:${step.number}`, at: knife.version })}`;
  const gone = (e) => e.target.remove();
  const end = h("img", { class: "end", loading: "lazy", onerror: gone, alt: `the end of the bar after ${step.do}`, src: address("bar-end", 240) });
  end.style.width = `${Math.max(14, wide * scale)}px`;
  end.style.aspectRatio = `${wide} / ${thick}`;
  const face = h("img", { class: "face", loading: "lazy", onerror: gone, alt: `the face of the bar after ${step.do}`, src: address("bar-face", 320) });
  face.style.width = `${Math.max(12, (100 * long) / largest)}%`;
  face.style.aspectRatio = `${long} / ${wide}`;
  const times = scale * largest / 220; // pixels that a tag is wide within
  return h("div", { class: "shapes" }, end, face, h("small", {}, times > 1.05 ? `face shown ${times < 10 ? times.toFixed(1) : times.toFixed(0)} times smaller` : "end and face to one scale"));
}

const put = (edits) => save(edits).catch((error) => say(error.message, true));

// A step is moved by its grip: dragged onto another, or with the arrow keys.
function moved(one, at, bar, k, list) {
  const path = ["bar", k, "step", at];
  const last = bar.steps.length - 1;
  const move = (to) => { if (to >= 0 && to <= last && to !== at) put([{ op: "move", path, to }]); };
  const grip = h("button", {
    type: "button", class: "grip", "aria-label": `${bar.steps[at].do.replaceAll("_", " ")}: drag it, or move it with the arrow keys`, "data-path": `grip.${k}.${at}`,
    onkeydown: (e) => { const by = { ArrowLeft: -1, ArrowRight: 1 }[e.key]; if (by) { e.preventDefault(); move(at + by); } },
  }, "⠿");
  one.dataset.at = at;
  one.querySelector("header").append(grip);
  dragged(grip, one, list, move);
}

function tools(bar, k, step, at, forms) {
  const path = ["bar", k, "step", at];
  return h("div", { class: "tools" },
    h("button", { type: "button", "data-path": `change.${k}.${at}`, onclick: () => edit(step, path, forms) }, "Change"),
    h("details", { class: "more" }, h("summary", { "aria-label": `more for ${step.do}` }, "more"), h("div", {},
      h("button", { type: "button", class: "plain", "aria-label": `copy ${step.do}`, onclick: () => put([{ op: "copy", path }]) }, "Copy"),
      h("button", { type: "button", class: "plain", "aria-label": `take ${step.do} out`, onclick: () => put([{ op: "delete", path }]) }, "Take out"),
      adder(bar, k, at, forms, "Put a step before"))));
}

function edit(step, path, forms) {
  const form = forms.steps.find((f) => f.do === step.do);
  const on = bound();
  const name = step.do.replaceAll("_", " ");
  const box = sheet(step.number === null ? name : `Step ${step.first}: ${name}`, on, h("p", { class: "quiet" }, form?.sentence ?? ""), h("div", { class: "fields" }, fieldset(form?.fields ?? [], path, step.fields, on.save)),
    h("p", {}, "Each figure is written when you leave it. ", h("button", { type: "button", onclick: () => box.close() }, "Done")));
}

function adder(bar, k, at, forms, words) {
  return h("button", { type: "button", class: "plain", onclick: () => choose(bar, k, at, forms) }, words);
}

function choose(bar, k, at, forms) {
  const wrong = h("p", { class: "wrong", role: "alert" });
  const on = bound();
  const box = sheet("Which step?", on, wrong, h("ul", { class: "verbs" }, forms.steps.map((form) => h("li", {}, h("button", {
    type: "button", "data-verb": form.do,
    onclick: async () => {
      try {
        await on.save([{ op: "insert", path: ["bar", k, "step", at], value: usual(form, bar, at, house) }]);
        box.close();
        document.querySelector(`[data-path="change.${k}.${at}"]`)?.closest(".step").scrollIntoView({ block: "nearest", inline: "center" });
      } catch (error) {
        wrong.textContent = error.message;
      }
    },
  }, h("b", {}, form.do.replaceAll("_", " ")), h("small", {}, form.sentence))))));
}

// A new step begins with the heat of the last one of its kind in the bar, or a usual one, with sizes the bar can be worked to,
// and the examples of what else it must be told.
function usual(form, bar, at, { forms, knife }) {
  const kind = (verb) => forms.steps.find((f) => f.do === verb)?.heat;
  const like = bar.steps.slice(0, at).map((s) => s.fields).filter((f) => f.temperature && kind(f.do) === form.heat).at(-1);
  const value = { do: form.do };
  for (const f of form.fields) {
    const heat = f.name === "temperature" || f.name === "soak";
    if (heat && (f.required || ["ladder", "raindrop"].includes(form.do))) value[f.name] = like?.[f.name] ?? form.usual[f.name];
    else if (f.required) value[f.name] = plain(f.example) ?? "";
  }
  const bare = (at > 0 ? bar.steps[at - 1].row : bar.stack)?.size_m;
  if (bare && form.do.startsWith("draw")) Object.assign(value, { thickness: size(0.75 * bare[2], knife.units) }, form.do === "draw_out" ? { width: size(0.8 * bare[1], knife.units) } : {});
  return value;
}

// A length one would ask for: whole fives of thou or eighths of an inch, tenths or halves of a millimetre.
function size(metres, units) {
  if (units !== "imperial") return `${metres > 5e-3 ? Math.round(2e3 * metres) / 2 : Math.round(1e4 * metres) / 10} mm`;
  return metres > 12.7e-3 ? `${Math.round(metres / 25.4e-3 * 8) / 8} in` : `${5 * Math.max(1, Math.round(metres / 25.4e-6 / 5))} thou`;
}
