// The knife in figures: its outline, grind, spine, tang and etch as fields of the recipe; and the first figures where there are none.

import { fieldRow, fieldset, h, say, tablesLast } from "./parts.js";
import { refuse } from "./typing.js";
import { save } from "./writing.js";

// Where the chosen knife stands in the recipe, and what is written there.
function chosen(house) {
  const written = house.knife.tables.blade;
  if (!Array.isArray(written)) return { path: ["blade"], values: written ?? {} };
  const at = Math.max(0, house.knife.blades.findIndex((b) => b.name === house.blade));
  return { path: ["blade", at], values: written[at] };
}

export function figures(house) {
  const { tables } = house.forms;
  const { path, values } = chosen(house);
  const rows = tablesLast(tables.blade.fields).filter((f) => f.name !== "bevel" && (f.name !== "name" || path.length > 1)).map((f) => fieldRow(plainSpine(f, values), path, values[f.name], save));
  return [
    h("details", { class: "figures" }, h("summary", {}, "Outline, grind and tang in figures"), h("div", { class: "fields card" }, grind(house.forms, path, values.bevel), rows)),
    h("details", { class: "figures" }, h("summary", {}, "How it is etched and lit"), h("div", { class: "fields card" }, fieldset(tables.etch.fields, ["etch"], house.knife.tables.etch, save))),
  ];
}

// A spine told by its three numbers alone is shown by them.
function plainSpine(field, values) {
  return field.name === "spine" && values.spine?.heel !== undefined ? { ...field, fields: field.fields[0].fields } : field;
}

// The kind of grind, and the numbers of that kind.
function grind(forms, path, given) {
  const field = forms.tables.blade.fields.find((f) => f.name === "bevel");
  const table = typeof given === "object" ? given : { kind: given ?? "full flat" };
  if (table.left || table.right) return fieldRow(field, path, given, save); // either face for itself
  const own = [...path, "bevel"];
  const write = async (next) => save([{ op: "set", path: own, value: Object.keys(next).length > 1 ? next : next.kind }]);
  const kept = (kind) => Object.fromEntries(Object.entries(table).filter(([key]) => kind.takes.includes(key) || (kind.kind === "chisel" && key === "flat")));
  const choice = h("select", { id: "grindkind", "data-path": `${own.join(".")}.kind`, onchange: () => {
    const kind = forms.grinds.find((g) => g.kind === choice.value);
    refuse(choice, "");
    write({ kind: kind.kind, ...kind.needs, ...kept(kind) }).catch((error) => refuse(choice, error.message));
  } }, forms.grinds.map((g) => h("option", { value: g.kind, selected: g.kind === table.kind }, g.kind)));
  const now = forms.grinds.find((g) => g.kind === table.kind);
  const numbers = forms.tables["blade.bevel.right"].fields.filter((f) => now?.takes.includes(f.name));
  const one = async ([edit]) => {
    const { [edit.path.at(-1)]: _, ...rest } = table;
    await write(edit.op === "delete" ? rest : { ...rest, [edit.path.at(-1)]: edit.value });
  };
  return [
    h("div", { class: "field" }, h("label", { for: "grindkind" }, "grind"), choice, h("small", {}, "How the faces run from the spine to the edge; either face for itself under Text."), h("p", { class: "wrong", role: "alert" })),
    numbers.map((f) => fieldRow(f, own, table[f.name], one)),
  ];
}

// A recipe without a knife: the first two figures make one.
export function firstFigures(house) {
  const [length, height] = ["length", "heel_height"].map((name) => house.forms.tables.blade.fields.find((f) => f.name === name));
  const value = Object.fromEntries([length, height].map((f) => [f.name, JSON.parse(f.example)]));
  return h("section", { class: "card" }, h("p", {}, "This recipe says nothing of a knife yet; it ends with the bar."),
    h("button", { type: "button", onclick: () => save([{ op: "set", path: ["blade"], value }]).catch((error) => say(error.message, true)) }, `Give it a knife, ${value.length} by ${value.heel_height}`));
}
