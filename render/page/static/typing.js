// What is typed and not yet written: it outlives a room drawn anew, and a refusal stands beside it until it is mended.

const isText = (node) => node.matches("input[type=text], textarea");
const at = (room, path) => room.querySelector(`[data-path="${CSS.escape(path)}"]`);

// All that stands beside a field, to know whether the field of that name is still the same one.
function around(room, path) {
  const above = `${path.split(".").slice(0, -1).join(".")}.`;
  return [...room.querySelectorAll("[data-path]")].filter((n) => n.dataset.path.startsWith(above)).map((n) => `${n.dataset.path} ${n.defaultValue ?? ""}`).join("\n");
}

function wrongOf(input) {
  for (let row = input.parentElement; row; row = row.parentElement) {
    const wrong = row.querySelector(".wrong");
    if (wrong) return wrong;
  }
  return null;
}

// A refusal in words beside its field, in the room as it is drawn now; "" takes it away.
export function refuse(input, message) {
  const here = input.isConnected ? input : at(document, input.dataset.path) ?? input;
  const wrong = wrongOf(here);
  if (wrong) wrong.textContent = message;
  if (message) here.setAttribute("aria-invalid", "true");
  else here.removeAttribute("aria-invalid");
}

// A field taken away while it has the focus would count as left, and its half a word as said: it is left unheard before.
let unheard = false;
addEventListener("change", (e) => { if (unheard) e.stopImmediatePropagation(); }, true);
function leave(field) {
  unheard = true;
  field.blur();
  unheard = false;
}

// What is half done in a room; called with the room drawn anew it is done there again. It answers with the words it
// found no place for. `foreign`: the recipe was changed elsewhere, so a field keeps its words only if all beside it stand.
export function halfDone(room) {
  const held = [...room.querySelectorAll("[data-path]")].filter((n) => isText(n) && n.value !== n.defaultValue).map((n) => ({
    path: n.dataset.path, value: n.value, was: n.defaultValue, beside: around(room, n.dataset.path), wrong: n.getAttribute("aria-invalid") ? wrongOf(n)?.textContent ?? "" : "",
  }));
  const focus = room.contains(document.activeElement) ? document.activeElement : null;
  const caret = focus && isText(focus) ? [focus.selectionStart, focus.selectionEnd] : null;
  const path = focus?.dataset.path;
  if (caret) leave(focus);
  const opened = [...room.querySelectorAll("details[open]:not(.more, #turn, .plans *)")].map(named);
  return (fresh, foreign) => {
    for (const one of fresh.querySelectorAll("details:not([open], .more, #turn, .plans *)")) one.open = opened.includes(named(one));
    const lost = held.filter((one) => !again(fresh, one, foreign)).map((one) => one.value);
    const node = path && at(fresh, path);
    node?.focus();
    if (node && caret && isText(node)) node.setSelectionRange(...caret);
    return lost;
  };
}

const named = (details) => details.querySelector("summary").textContent;

function again(fresh, { path, value, was, beside, wrong }, foreign) {
  const node = at(fresh, path);
  if (!node || node.defaultValue !== was || (foreign && around(fresh, path) !== beside)) return !foreign && !wrong;
  node.value = value;
  if (wrong) refuse(node, wrong);
  // A value put in by a program is no change to the browser: what is left in it when the field is left is one.
  const left = () => node.dispatchEvent(new Event("change"));
  node.addEventListener("blur", left, { once: true });
  node.addEventListener("change", () => node.removeEventListener("blur", left), { once: true });
  return true;
}
