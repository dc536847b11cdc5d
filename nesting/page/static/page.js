// Makes the plain forms live: a change is posted at once, and the steps that changed are put in place.
"use strict";

const main = document.querySelector("main[data-file]");
let saving = Promise.resolve();

/** The text that was typed into a field and not yet answered. */
const isUnsaved = (field) =>
  field.matches?.("input:not([type=radio], [type=checkbox], [type=hidden]), textarea") &&
  field.value !== field.defaultValue;

const version = () => document.getElementById("evening").dataset.version;

const tell = (words) => {
  document.getElementById("saved").textContent = words;
};

/** Put elements in place of those with their ids; what is being typed, open and in focus stays so. */
function place(html) {
  const parsed = new DOMParser().parseFromString(html, "text/html");
  for (const fresh of [...parsed.body.children]) {
    const old = fresh.id && document.getElementById(fresh.id);
    if (!old || old.outerHTML === fresh.outerHTML) continue;
    keepState(old, fresh);
    const focused = old.contains(document.activeElement) ? document.activeElement : null;
    const range = focused && isUnsaved(focused) ? [focused.selectionStart, focused.selectionEnd] : null;
    old.replaceWith(fresh);
    if (focused?.id) {
      const again = document.getElementById(focused.id);
      again?.focus({ preventScroll: true });
      if (range && again?.setSelectionRange) again.setSelectionRange(...range);
    }
  }
}

function keepState(old, fresh) {
  for (const [before, after] of pairs(old, fresh, "details")) after.open = before.open;
  for (const field of old.querySelectorAll("input[id], textarea[id]")) {
    const again = isUnsaved(field) && !field.dataset.sent && find(fresh, field.id);
    if (again) again.value = field.value;
  }
}

const find = (root, id) => root.querySelector(`#${CSS.escape(id)}`);

/** Elements of a kind that stand in both, by their ids or else by their order. */
function* pairs(old, fresh, kind) {
  const others = [...fresh.querySelectorAll(kind)];
  for (const [number, before] of [...old.querySelectorAll(kind)].entries()) {
    const after = before.id ? find(fresh, before.id) : others[number];
    if (after) yield [before, after];
  }
}

/** Post one change after the other; each is answered by what it changed. */
function post(address, fields, sent = []) {
  for (const field of sent) field.dataset.sent = "yes";
  saving = saving.then(async () => {
    const body = new URLSearchParams([...fields, ["version", version()]]);
    try {
      const answer = await fetch(address, { method: "POST", body, headers: { Accept: "text/html-parts" } });
      if (!answer.ok) throw new Error(answer.status);
      place(await answer.text());
    } catch {
      tell("This change is not saved: the program does not answer. It stays here as typed.");
    }
    for (const field of sent) delete field.dataset.sent;
  });
}

if (main) {
  document.addEventListener("change", (event) => {
    const field = event.target;
    const form = field.closest?.("form[data-live]");
    if (form && field.name.startsWith("/")) post(form.action, [[field.name, field.value]], [field]);
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-live], #evening")) return;
    event.preventDefault();
    const button = event.submitter;
    const typed = [...form.elements].filter((field) => isUnsaved(field) && field.name);
    const fields = [...new FormData(form, button)].filter(
      ([name]) => name !== "version" && (!name.startsWith("/") || typed.some((field) => field.name === name)),
    );
    post(button?.getAttribute("formaction") ?? form.action, fields, typed);
  });

  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") return;
    if (isUnsaved(event.target)) return; // its own undo
    event.preventDefault();
    const form = document.getElementById("evening");
    post(event.shiftKey ? form.querySelector("[formaction]").getAttribute("formaction") : form.action, []);
  });
}
