// Writing: one change after the other, each on the text it was made on. What was changed outside is never written over blindly.

import { ask, Refused, say, send } from "./parts.js";
import { house, take } from "./main.js";

const heirs = new Map(); // a text, by its version, and what our own change of a field made of it: every place in it is still the same
const ours = new Set(); // the texts this page wrote
const STALE = "The recipe was changed since this was opened, so nothing was written. Close it and open it again; what is typed stays here till then.";

// A text that came from elsewhere, or came back, begins a line of its own.
export const settle = (version) => heirs.delete(version);

function newest(version) {
  while (heirs.has(version)) version = heirs.get(version);
  return version;
}

// The version a change made on `made` is sent with: a whole text stands for that one alone, a field goes along with our own changes.
const standing = (name, made) => (name === "text" ? made : newest(made));

let line = Promise.resolve(), waiting = 0;
export const writing = () => waiting > 0;

// `made`: the version the change was made on; null for one that means whatever stands when its turn comes.
export function change(name, data = {}, made = house.drawn) {
  const { file } = house.knife;
  waiting += 1;
  const done = line.then(() => sent(name, data, file, made)).finally(() => { waiting -= 1; });
  line = done.catch(() => {});
  return done;
}

async function sent(name, data, file, made) {
  if (made === null && house.knife.file !== file) return null; // another knife was opened meanwhile
  const version = made === null ? house.knife.version : standing(name, made);
  try {
    const knife = await send(name, { file, version, ...data });
    ours.add(knife.version);
    settle(knife.version);
    if (name === "edit" && version !== knife.version && data.edits.every(keepsPlaces)) heirs.set(version, knife.version);
    if (house.knife.file === file) take(knife, name === "edit" ? "edit" : "");
    return knife;
  } catch (error) {
    if (error instanceof Refused && error.status === 409) await outside(file, error.message);
    throw error;
  }
}

const keepsPlaces = ({ op, path }) => ["set", "fill"].includes(op) || (op === "delete" && typeof path.at(-1) === "string");

async function outside(file, message) {
  const knife = await ask("knife", { file });
  if (house.knife.file === file) take(knife, "outside");
  say(ours.has(knife.version) ? "Another change was still being written when this one was made; do it again if it is still wanted."
    : `${message}. It is shown as it is now; do your change again if it is still wanted.`, true);
}

// Every change of a recipe goes through here: written by the server or refused in its own words.
export const save = (edits) => change("edit", { edits });

// A save for what stays open while the recipe may change: it holds to the text it was opened on, and to its own changes of it.
export function bound(name = "edit") {
  const made = house.knife.version;
  const put = async (data) => {
    try {
      return await change(name, data, made);
    } catch (error) {
      throw error.status === 409 ? new Refused(409, [{ path: null, message: STALE }]) : error;
    }
  };
  return { put, save: (edits) => put({ edits }), stale: () => standing(name, made) !== house.knife.version };
}
