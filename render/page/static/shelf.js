// The knives of the folder, and where a new one starts.

import { h, say, send, sheet } from "./parts.js";
import { forget } from "./bench.js";
import { open } from "./main.js";

export function shelf(house) {
  const { knives, beyond, starts, folder, cautions } = house.folder;
  const wrong = h("p", { class: "wrong", role: "alert" });
  const name = h("input", { type: "text", id: "newname", placeholder: "knife.toml", autocomplete: "off" });
  const title = h("input", { type: "text", id: "newtitle", placeholder: "what the knife is called", autocomplete: "off" });
  const fresh = h("h3", {}, "A new knife");
  const start = async (one) => {
    const file = name.value.trim() ? (name.value.trim().endsWith(".toml") ? name.value.trim() : `${name.value.trim()}.toml`) : free(knives, one.id);
    try {
      const made = await send("knives", { start: one.id, file, title: title.value || undefined });
      for (const key of Object.keys(sessionStorage)) if (key.startsWith(`moved ${made.file} `) || key.startsWith(`bench ${made.file} `)) sessionStorage.removeItem(key);
      forget(made.file);
      house.folder.knives.push({ file: made.file, title: made.title, units: made.units, blades: [] });
      box.close();
      await open(made.file, "steel");
      say(`${made.file} was written into the folder.`);
    } catch (error) {
      wrong.textContent = error.message;
    }
  };
  const box = sheet("Knives", null,
    h("p", { class: "quiet" }, `${folder}: every change is written into its file as it is made.`),
    knives.length ? h("p", {}, h("button", { type: "button", class: "plain", onclick: () => { fresh.scrollIntoView({ block: "start" }); title.focus({ preventScroll: true }); } }, "A new knife ↓")) : null,
    knives.length ? h("ul", { class: "knives" }, knives.map((k) => h("li", {}, h("button", { type: "button", "aria-current": house.knife?.file === k.file ? "true" : null, onclick: () => { box.close(); open(k.file).catch((e) => say(e.message, true)); } },
      picture(k.file), h("b", {}, k.title), h("small", {}, house.knife?.file === k.file ? `${k.file}, open now` : k.file))))) : h("p", {}, "No recipe lies in this folder yet."),
    beyond ? h("p", {}, `${beyond} more lie in this folder; open one by its name: billet open knife.toml`) : null,
    fresh,
    h("div", { class: "two" }, h("div", { class: "field" }, h("label", { for: "newtitle" }, "title"), title), h("div", { class: "field" }, h("label", { for: "newname" }, "file"), name)),
    wrong,
    h("p", { class: "quiet" }, "Start from:"),
    h("ul", { class: "knives starts" }, starts.map((s) => h("li", {}, h("button", { type: "button", "data-start": s.id, onclick: () => start(s) },
      h("img", { alt: "", loading: "lazy", src: `/static/starts/${encodeURIComponent(s.id)}.jpg` }), h("b", {}, s.title), h("small", {}, `${s.units === "imperial" ? "inches, Fahrenheit" : "mm, Celsius"}. ${s.words}`))))),
    h("div", { class: "cautions" }, cautions.map((c) => h("p", {}, c))));
  return box;
}

function free(knives, start) {
  const taken = new Set(knives.map((k) => k.file));
  for (let n = 1; ; n++) {
    const file = `${start.replace("starter_", "knife_")}${n > 1 ? `_${n}` : ""}.toml`;
    if (!taken.has(file)) return file;
  }
}

function picture(file) {
  return h("img", { alt: "", loading: "lazy", src: `/api/draw?${new URLSearchParams({ file, view: "right", width: 420 })}` });
}
