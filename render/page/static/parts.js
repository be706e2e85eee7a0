// Small parts that every room is built of: elements, asking the server, forms that show the model's own sentences.

import { refuse } from "./typing.js";

// This window, told apart from others of the same page.
export const CLIENT = Math.random().toString(36).slice(2);

export function h(tag, attrs = {}, ...children) {
  const svg = ["svg", "rect", "path", "line", "text", "polyline", "g", "circle"].includes(tag);
  const node = svg ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  for (const [key, value] of Object.entries(attrs)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "class") node.setAttribute("class", value);
    else if (tag === "textarea" && key === "value") node.defaultValue = value;
    else if (key in node && !svg && typeof value !== "string") node[key] = value;
    else node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children.flat(9).filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

export class Refused extends Error {
  constructor(status, errors) {
    super(errors.map((e) => e.message).join(" "));
    this.status = status;
    this.errors = errors;
  }
}

async function answer(response) {
  if (response.status === 204) return null;
  const data = await response.json().catch(() => ({}));
  if (!response.ok) throw new Refused(response.status, data.errors || [{ path: null, message: "The page gave no answer." }]);
  return data;
}

export async function ask(name, query = {}, signal = undefined) {
  const words = new URLSearchParams(Object.entries(query).filter(([, v]) => v !== undefined && v !== null));
  return answer(await reach(`/api/${name}?${words}`, { signal }));
}

export async function send(name, data) {
  return answer(await reach(`/api/${name}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(data) }));
}

// Nothing came back: the program was stopped, or the network between lies still.
export const SILENT = "No answer from billet. Is it still running (billet open), and is this machine in its network? What was saved is safe.";

async function reach(address, options) {
  try {
    return await fetch(address, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, [{ path: null, message: SILENT }]);
  }
}

export function say(text, bad = false) {
  const news = document.getElementById("news");
  news.replaceChildren(h("p", { class: bad ? "bad" : "" }, text, h("button", { type: "button", class: "plain", onclick: () => news.replaceChildren(), "aria-label": "Put this message away" }, "✕")));
}

// A figure, its fraction and its unit stay on one line: 1 1/2 in, 790 C.
export const tied = (text) => text.replace(/(\d) (?=\d+\/\d+\b)/g, "$1\u00a0").replace(/(\d) (?=(?:mm|cm|m|in|thou|C|F|HRC|g|kg|lb|oz|min|h|s|%)(?![\w]))/g, "$1\u00a0");

export const many = (count, one) => `${count} ${one}${String(count) === "1" ? "" : "s"}`;

export function warnings(list) {
  return list.length ? h("ul", { class: "warn" }, list.map((w) => h("li", {}, w))) : null;
}

// `on`: what its saves are bound to (writing.js), or null; when the recipe is changed under it the sheet says so.
export function sheet(title, on, ...body) {
  const close = () => box.close();
  const stale = h("p", { class: "bad stale", role: "alert" });
  const box = h("dialog", { class: "sheet", onclose: () => { for (const img of box.querySelectorAll("img")) img.removeAttribute("src"); box.remove(); } }, h("header", {}, h("h2", {}, title), h("button", { type: "button", class: "plain", onclick: close, "aria-label": "Close" }, "✕")), stale, ...body);
  box.tell = () => { stale.textContent = on?.stale() ? "The recipe was changed meanwhile; nothing more is written from here. Close this and open it again." : ""; };
  document.body.append(box);
  box.showModal();
  return box;
}

// Length x width x thickness of a bar, the unit said once where it is the same: 77.0 x 48.0 x 44.10 mm.
export function sizesOf({ length, width, thickness }) {
  const all = [length, width, thickness], unit = /\s\S+$/.exec(thickness)?.[0] ?? "";
  return all.every((one) => one.endsWith(unit)) ? `${all.map((one) => one.slice(0, one.length - unit.length)).join(" x ")}${unit}` : all.join(" x ");
}

// A value of a recipe as it is typed, and back.
export const typed = (value) => {
  if (value === undefined || value === null) return "";
  const plain = Array.isArray(value) && value.length > 0 && (value.every((one) => typeof one === "number") || value.every((one) => typeof one === "string" && !/[,[\]{}"]/.test(one)));
  return plain ? value.join(", ") : typeof value === "string" ? value : JSON.stringify(value);
};

function read(field, text) {
  const clean = text.trim();
  if (clean === "") return undefined;
  if (field.kind === "list" && !/^[[{]/.test(clean)) {
    const parts = clean.split(",").map((one) => one.trim()).filter(Boolean);
    return parts.every((one) => one !== "" && Number.isFinite(Number(one))) ? parts.map(Number) : parts;
  }
  if (field.kind !== "number" && field.kind !== "list" && !/^[[{]/.test(clean)) return clean;
  try {
    return JSON.parse(clean);
  } catch {
    return clean;
  }
}

// A choice of the recipe as the page tells it.
const said = (field, choice) => field.choice_words[field.choices.indexOf(choice)] ?? choice;

// An example of the model's own words as a value of a recipe.
export function plain(example) {
  if (example === null || example === undefined) return undefined;
  try {
    return JSON.parse(example);
  } catch {
    return example;
  }
}

// Where the first figure of a table makes the table, the others it cannot do without come with it, if they are not there yet.
function withOthers(table, own, save) {
  let told = false;
  return async (edits) => {
    const [{ op, path }] = edits;
    const others = op === "set" ? table.fields.filter((f) => f.required && f.name !== path.at(-1)) : [];
    await save([...edits, ...others.map((f) => ({ op: "fill", path: [...own, f.name], value: plain(f.example) }))]);
    if (others.length && !told) say(`A usual figure was put in for ${others.map((f) => f.label).join(" and ")}; make it yours.`);
    told = true;
  };
}

let ids = 0;

// One field: its name, its input, its sentence, and the refusal beside it. `save(edits)` writes and rejects with the refusal.
export function fieldRow(field, path, value, save) {
  const id = `f${++ids}`;
  const own = [...path, field.name];
  const wrong = h("p", { class: "wrong", id: `${id}w`, role: "alert" });
  const words = field.label;
  if (field.kind === "table" && (value === undefined || (typeof value === "object" && !Array.isArray(value)))) {
    return h("details", { class: "inner", open: value !== undefined },
      h("summary", {}, words, h("small", {}, field.sentence)),
      h("div", { class: "fields" }, tablesLast(field.fields).map((f) => fieldRow(f, own, value?.[f.name], value === undefined ? withOthers(field, own, save) : save))));
  }
  let before = typed(value);
  const put = async (input, next) => {
    if (typed(next) === before) return;
    refuse(input, "");
    try {
      await save([next === undefined ? { op: "delete", path: own } : { op: "set", path: own, value: next }]);
      before = typed(next);
    } catch (error) {
      refuse(input, error.message);
    }
  };
  let input;
  const shared = { id, "aria-describedby": `${id}s ${id}w`, "data-path": own.join(".") };
  if (field.kind === "choice") {
    input = h("select", { ...shared, onchange: () => put(input, input.value === "" ? undefined : read({ kind: "choice" }, input.value)) },
      h("option", { value: "" }, field.default ? `${said(field, field.default.replaceAll('"', ""))}, as usual` : "left open"),
      field.choices.map((c) => h("option", { value: c, selected: c === typed(value) }, said(field, c))));
    if (value !== undefined && !field.choices.includes(typed(value))) input.append(h("option", { value: typed(value), selected: true }, typed(value)));
  } else if (field.kind === "yes or no") {
    input = h("input", { ...shared, type: "checkbox", checked: value === true, onchange: () => put(input, input.checked) });
  } else {
    input = h("input", {
      ...shared, type: "text", value: before, placeholder: field.hint, autocomplete: "off", spellcheck: false,
      onchange: () => put(input, read(field, input.value)),
      onkeydown: (e) => { if (e.key === "Escape") { input.value = before; refuse(input, ""); } },
    });
  }
  return h("div", { class: "field" }, h("label", { for: id }, words, field.required ? h("b", { title: "must be given" }, " *") : null), input,
    h("small", { id: `${id}s` }, field.sentence), wrong);
}

export const tablesLast = (fields) => [...fields.filter((f) => f.kind !== "table"), ...fields.filter((f) => f.kind === "table")];

export function fieldset(fields, path, values, save, only) {
  return tablesLast(fields.filter((f) => !only || only.includes(f.name))).map((f) => fieldRow(f, path, values?.[f.name], save));
}

// A row lifted by its grip and dropped on another of its list; `drop` is told which.
export function dragged(grip, row, list, drop) {
  grip.addEventListener("pointerdown", (e) => {
    e.preventDefault();
    grip.setPointerCapture(e.pointerId);
    row.classList.add("lifted");
    const over = (ev) => [...list.children].find((c) => { const b = c.getBoundingClientRect(); return ev.clientY >= b.top && ev.clientY < b.bottom && ev.clientX >= b.left && ev.clientX < b.right; });
    const moved = (ev) => { for (const c of list.children) c.classList.toggle("under", c === over(ev) && c !== row); };
    const done = (ev) => {
      grip.removeEventListener("pointermove", moved);
      row.classList.remove("lifted");
      const target = ev.type === "pointerup" ? over(ev) : null;
      for (const c of list.children) c.classList.remove("under");
      if (target && target !== row && target.dataset.at !== undefined) drop(Number(target.dataset.at));
    };
    grip.addEventListener("pointermove", moved);
    grip.addEventListener("pointerup", done, { once: true });
    grip.addEventListener("pointercancel", done, { once: true });
  });
}
