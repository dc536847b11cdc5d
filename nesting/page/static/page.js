// Makes the plain forms live: a change is posted at once, and the steps that changed are put in place.
"use strict";

const main = document.querySelector("main[data-file]");
const batch = `/batch/${encodeURIComponent(main?.dataset.file)}`;
let saving = Promise.resolve();
let released = Promise.resolve();
let looks = 0;
let line = null; // by which news comes
let moving = 0; // changes under way after which a field's name can be that of another
let replacing = false; // a field that goes tells its half-typed text as a change
let unheard = 0; // how often what is asked now was not answered
const waiting = new Set(); // what was typed and is not answered
const pressing = new Set(); // buttons that are pressed and not answered
const held = []; // what was typed and chosen while fields move, to be put in place afterwards
const renamed = []; // the pointers of what has got another name, before and now, one after the other
let asked = null; // the plain form for which it is asked whether the program answers
let sent = null; // the one that is sent, as it does

/** What can be ticked and is not of the file: it is sent with a button of its own. */
const CHOSEN = "[type=radio]:not([name^='/']), [type=checkbox]";
/** What is pressed; a scroll bar is not, and tells no end of a press. */
const PRESSED = "button, a, summary, label, input, select, .movable";
/** After how many times without an answer it is told that there may be none any more. */
const FOR_A_WHILE = 5;
/** What is pressed once fields have moved, if it still means the same. */
const LATER = "button, [type=radio], [type=checkbox]";
/** What has a layer change places with its neighbour. */
const MOVES = "[formaction$='/move']";
const FIELDS = "input:not([type=hidden]), textarea, select, button, summary, a";

/** What is told while there is no answer, here and at the trimmer. */
const unanswered = (asked) =>
  asked < FOR_A_WHILE
    ? "This is not saved yet: the program does not answer. It is asked again and again."
    : "The program has not answered for a while: it may have ended. It is asked on. If it has ended, start it again: " +
      "all is saved but what was done here since.";

/** The text that was typed into a field and not yet sent. */
const isUnsaved = (field) =>
  field.matches?.("input:not([type=radio], [type=checkbox], [type=hidden]), textarea") &&
  field.value !== field.defaultValue && field.value !== field.dataset.sent;

/** Whether a field has a value of the file, or the name of one. */
const isOfFile = (name) => /^(name:)?\//.test(name);

/** Whether the program has not answered for a while. */
const isSilent = () => unheard >= FOR_A_WHILE;

const version = () => document.getElementById("evening").dataset.version;

/** The card that is shown whole. */
const cardShown = () => document.querySelector("#cards [name=card]")?.value ?? "";

const tell = (words) => {
  const saved = document.getElementById("saved");
  saved.textContent = words;
  saved.className = "fault";
};

/** Put elements in place of those with their ids; what is being typed, open and in focus stays so. */
async function place(html) {
  for (let last; last !== released; ) await (last = released);
  const parsed = new DOMParser().parseFromString(html, "text/html");
  for (const one of parsed.querySelectorAll("noscript")) one.textContent = one.innerHTML; // as on the page
  for (const fresh of [...parsed.body.children]) {
    const old = fresh.id && document.getElementById(fresh.id);
    if (!old || old.outerHTML === fresh.outerHTML) continue;
    keepState(old, fresh);
    const focused = old.contains(document.activeElement) ? document.activeElement : null;
    const place = focused && [...old.querySelectorAll(FIELDS)].indexOf(focused);
    const range = focused && [focused.selectionStart ?? null, focused.selectionEnd];
    const { top } = (focused ?? old).getBoundingClientRect();
    replacing = true;
    old.replaceWith(fresh);
    replacing = false;
    if (focused) {
      const moved = focused.matches(MOVES) ? sameMove(focused, fresh) : null;
      const fields = [...fresh.querySelectorAll(FIELDS)];
      const same = fields.find((one) => meaning(one) === meaning(focused)); // there may be more fields before it now
      const again = document.getElementById(focused.id) ?? moved ?? same ?? fields[place];
      again?.focus({ preventScroll: true });
      if (moved) scrollBy(0, moved.getBoundingClientRect().top - top);
      if (range[0] !== null && again?.setSelectionRange) again.setSelectionRange(...range);
    }
  }
}

/** The button that moves the same layer on: it stays under the pointer. */
const sameMove = (button, fresh) =>
  [...fresh.querySelectorAll(MOVES)].find((one) => one.textContent === button.textContent);

/** Nothing moves under a pointer or key that is down: a button that is replaced while it is pressed does nothing. */
function holdStill() {
  const hold = (pressed, ...ends) => {
    released = new Promise((done) => {
      // a touch is told as a click only some time after its end
      for (const end of ends) document.addEventListener(end, () => setTimeout(done, 50), { once: true });
      if (pressed.closest?.("select")) setTimeout(done, 1000); // its list takes the pointer's end for itself
    });
  };
  document.addEventListener("pointerdown", (event) => {
    if (!event.button && event.target.closest?.(PRESSED)) hold(event.target, "pointerup", "pointercancel");
  });
  document.addEventListener("keydown", (event) => {
    const pressed = event.target.matches("button, summary, [type=radio], [type=checkbox]");
    if (event.key === " " && pressed && !event.repeat) hold(event.target, "keyup", "focusout");
  });
}

/** Press a button when what is under way is answered, if there still is one that means the same. */
async function pressLater(button) {
  const meant = meaning(button);
  if (pressing.has(meant)) return;
  pressing.add(meant);
  await saving;
  pressing.delete(meant);
  [...document.querySelectorAll(LATER)].find((one) => meaning(one) === meant)?.click();
}

const legendOf = (one) => one.closest(".entry")?.querySelector("legend")?.firstChild.textContent;

/** What a button or summary does, and to what: the number of a layer can be that of another one later. */
const meaning = (button) => legendOf(button) + button.outerHTML;

/** What a field is of: that of a layer follows it to its new number. */
const subject = (field) => legendOf(field) + (isOfFile(field.name) ? field.name.replace(/\/\d+/g, "") : field.id);

/** Put what was typed and chosen meanwhile into the fields that mean the same. */
function typeHeld() {
  const focused = document.activeElement;
  for (const { meant, range, kind, data, chosen } of held.splice(0)) {
    const field = [...document.querySelectorAll("input, textarea, select")].find((one) => subject(one) === meant);
    if (!field) continue;
    if (field.matches("select")) {
      if (![...field.options].some((one) => one.value === chosen)) continue;
      field.value = chosen;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      continue;
    }
    if (field !== document.activeElement) {
      field.focus({ preventScroll: true });
      if (range[0] !== null) field.setSelectionRange(...range); // a field for numbers has none
    }
    if (data !== null) document.execCommand("insertText", false, data);
    else document.execCommand(kind.endsWith("Forward") ? "forwardDelete" : "delete");
  }
  focused.focus({ preventScroll: true });
}

/** One press is one: neither the second of a double click, nor a key that is held; one while fields move waits. */
function pressOnce() {
  document.addEventListener("click", (event) => {
    const pressed = event.target.closest?.("button, a.button, input");
    const again = event.detail > 1 && !pressed?.matches("#evening button, input");
    const waits = moving && pressed?.closest("form[data-live]");
    if (pressed && (again || waits)) event.preventDefault();
    if (waits && !again && pressed.matches(LATER)) pressLater(pressed);
  }, true);
  document.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter" && event.target.matches("button, input, a")) event.preventDefault();
  }, true);
  document.addEventListener("beforeinput", (event) => {
    const { target, inputType: kind, data } = event;
    if (!moving || isSilent() || (data === null && !kind.startsWith("delete"))) return;
    event.preventDefault();
    held.push({ meant: subject(target), range: [target.selectionStart, target.selectionEnd], kind, data });
  });
}

function keepState(old, fresh) {
  if (old.open) fresh.open = true;
  for (const [before, after] of pairs(old, fresh, "details")) after.open = before.open || "fault" in after.dataset;
  for (const [before, after] of pairs(old, fresh, "input[id], textarea[id]")) {
    if (isUnsaved(before)) after.value = before.value;
  }
  for (const [before, after] of pairs(old, fresh, CHOSEN)) {
    if (before.checked !== before.defaultChecked) after.checked = before.checked;
  }
  for (const [before, after] of pairs(old, fresh, "form:has([name=of])")) { // why a file cannot be made of the same plan
    const said = before.querySelector(":scope > [role=alert]");
    if (said && before.elements.of.value === after.elements.of.value) after.append(said);
  }
}

const find = (root, id) => root.querySelector(`#${CSS.escape(id)}`);

/** Elements of a kind that stand in both, by their ids; by their order where they have another name now. */
function* pairs(old, fresh, kind) {
  const [before, after] = [old, fresh].map((root) => [...root.querySelectorAll(kind)]);
  for (const [number, one] of before.entries()) {
    const inOrder = !one.id || before.length === after.length;
    const other = (one.id && find(fresh, one.id)) || (inOrder && after[number]);
    if (other) yield [one, other];
  }
}

/** Ask for a change; it is asked for also when the page is left meanwhile. */
const ask = (address, fields) =>
  fetch(address, {
    method: "POST", body: new URLSearchParams(fields), headers: { Accept: "text/html-parts" }, keepalive: true,
    signal: AbortSignal.timeout(10_000),
  });

/** Ask until there is an answer; by the name of a press it is known that it is done, and not done again. */
async function askAgain(address, fields) {
  for (;;) {
    try {
      const answer = await ask(address, fields);
      const html = await answer.text();
      unheard = 0;
      return [answer, html];
    } catch {
      unheard += 1;
      if (isSilent()) typeHeld();
      tell(unanswered(unheard));
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
}

/** A pointer, or a field that is named by it, now that something has another name. */
const named = (text, [before, now]) =>
  `${text.replace(/^name:/, "")}/`.startsWith(`${before}/`) ? text.replace(before, () => now) : text;

/** The pointer of a paper or card that was given a name, before and now. */
function renaming(field, name) {
  const before = field.slice("name:".length);
  const part = name.trim().normalize("NFC").replaceAll("~", "~0").replaceAll("/", "~1");
  return [before, before.slice(0, before.lastIndexOf("/") + 1) + part];
}

/** Post one change after the other; each is answered by what it changed. */
async function post(address, fields, sent = []) {
  const typed = /\/set$/.test(address);
  const change = [address, [...fields, ["press", String(Math.random())]]];
  const known = renamed.length;
  const meanwhile = typed && moving ? version() : null; // what its field's name is of, should the answer come yet
  for (const field of sent) field.dataset.sent = field.value;
  if (typed) waiting.add(change);
  else moving += 1;
  saving = saving.then(async () => {
    looks += 1; // a look at what was typed before is too late
    const now = change[1].map((field) => field.map((text) => renamed.slice(known).reduce(named, text)));
    const all = [...now, ["version", meanwhile ?? version()], ["card", cardShown()]];
    try {
      const [answer, html] = await askAgain(address, all);
      if (!answer.ok && answer.status !== 422) throw new Error(html);
      const entries = new Set([...document.querySelectorAll(".entry[id]")].map((one) => one.id));
      const elsewhere = isElsewhere(document.activeElement, fields);
      await place(html);
      for (const [name, text] of answer.ok ? now : []) if (name.startsWith("name:")) renamed.push(renaming(name, text));
      if (/\/(add|copy)\b/.test(address) && !elsewhere) goOnWithNew(entries, fields.find(([name]) => name === "pointer")?.[1]);
      const taken = !answer.ok && document.querySelector("[name=name][aria-invalid] ~ .faults");
      if (taken) taken.scrollIntoView({ block: "nearest" });
      const isCard = fields.some(([name, value]) => name === "pointer" && value === "/cards");
      if (answer.ok && isCard) for (const one of document.querySelectorAll("[name=lies]")) one.checked = one.defaultChecked;
    } catch {
      tell("This could not be done. Load the page again to see what the file says now.");
    }
    if (!typed) moving -= 1;
    if (!moving) typeHeld();
    waiting.delete(change);
  });
  return saving;
}

/** What is typed, and what waits for its turn, is saved also when the page is left; the browser asks where it cannot be. */
function saveAtLeaving() {
  window.addEventListener("beforeunload", (event) => {
    const typed = [...document.querySelectorAll("form[data-live] input:not([type=file])")];
    if (unheard || typed.some((field) => isUnsaved(field) && !isOfFile(field.name))) event.preventDefault();
  });
  window.addEventListener("pagehide", () => {
    const field = document.activeElement;
    if (isUnsaved(field) && isOfFile(field.name)) waiting.add([field.form.action, [[field.name, field.value]]]);
    for (const [address, fields] of waiting) ask(address, fields);
  });
}

/** Whether something else is filled in by now than the form that was sent: it is not left for what was added. */
const isElsewhere = (field, fields) =>
  field.matches("input, select, textarea") &&
  !fields.some(([name, value]) => name === "pointer" && value === field.form?.elements.pointer?.value);

/** What was added is gone on with at its first field; what stands beside it is folded, but for faults. */
function goOnWithNew(entries, pointer) {
  const fresh = [...document.querySelectorAll(".entry[id]")].find((one) => !entries.has(one.id));
  const sizes = [...document.querySelectorAll("input[name$='/size']")].filter((one) => one.name.startsWith(`${pointer}/`));
  const field = fresh ? fresh.querySelector("input[name^='/']") : sizes.at(-1);
  if (!field) return;
  for (const one of fresh?.parentElement.querySelectorAll("details.entry:not(:has(.fault))") ?? []) one.open = one === fresh;
  field.focus({ preventScroll: true });
  field.scrollIntoView({ block: "nearest" });
}

/** Show the card as it will look with what is being typed, which is kept when the field is left. */
async function look(field) {
  const mine = (looks += 1);
  await new Promise((done) => setTimeout(done, 120));
  if (mine !== looks) return;
  const body = new URLSearchParams([[field.name, field.value], ["card", cardShown()]]);
  const answer = await fetch(field.form.action.replace(/set$/, "look"), { method: "POST", body }).catch(() => null);
  if (mine === looks && answer?.status === 200) await place(await answer.text());
}

/** The ruler's mark that is nearest to where a layer was dragged along one axis; where it is, at first. */
function markAt(layer, axis, moved) {
  const of = (key) => layer.dataset[axis + key];
  const [first, apart, texts] = [Number(of("First")), Number(of("Apart")), of("Texts").split("|")];
  const stays = Math.abs(moved) < apart / 2;
  const number = Math.round(((stays ? 0 : moved) - first) / apart);
  const mark = Math.min(Math.max(number, 0), texts.length - 1);
  return { pointer: of("Pointer"), text: texts[mark], by: stays ? 0 : first + mark * apart, stays };
}

let drag = null;
let touched = null; // the layer under a finger, which is picked if that is lifted without a scroll

/** Where the layer that is being dragged comes to lie, across and up. */
function dragged(event) {
  const scale = drag.svg.viewBox.baseVal.width / drag.svg.getBoundingClientRect().width;
  const across = markAt(drag.layer, "across", (event.clientX - drag.x) * scale);
  const up = markAt(drag.layer, "up", (drag.y - event.clientY) * scale);
  return [across, up];
}

/** What is written for a place: a text for each edge that it is measured from, or one for its middle. */
function written([across, up]) {
  if (across.stays && up.stays) return [];
  if (across.pointer === up.pointer) return [[across.pointer, `${across.text} x ${up.text}`]];
  return [across, up].filter((one) => !one.stays).map((one) => [one.pointer, one.text]);
}

const inWords = ([pointer, text]) => {
  const edge = pointer.slice(pointer.lastIndexOf("/") + 1);
  const size = text.replace(/ (?=\d+\/)/g, "\u00a0"); // no line ends within it
  return edge === "centre" ? `middle at ${size}` : `${size} from the ${edge}`;
};

const noScroll = (event) => event.preventDefault();

/** Pick the one layer that a finger can drag; over all others it scrolls. */
function pick(layer) {
  const before = document.querySelector(".picked");
  before?.classList.remove("picked");
  before?.removeEventListener("touchmove", noScroll);
  layer?.classList.add("picked");
  layer?.addEventListener("touchmove", noScroll, { passive: false }); // not every browser heeds touch-action in a drawing
}

/** The layer is where it was, and so are the words below it. */
function putBack() {
  drag?.layer.removeAttribute("transform");
  drag?.caption.replaceChildren(...drag.words);
}

function dragLayers() {
  document.addEventListener("pointerdown", (event) => {
    const layer = event.target.closest?.(".movable");
    touched = null;
    if (event.pointerType !== "mouse" && !layer?.matches(".picked")) {
      pick(null);
      touched = layer;
      return;
    }
    if (!layer || event.button) return;
    event.preventDefault();
    layer.setPointerCapture(event.pointerId);
    const caption = layer.closest("figure").querySelector("figcaption");
    const at = { x: event.clientX, y: event.clientY };
    drag = { layer, svg: layer.ownerSVGElement, caption, words: [...caption.childNodes], ...at };
  });
  document.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const [across, up] = dragged(event);
    drag.layer.setAttribute("transform", `translate(${across.by} ${-up.by})`);
    const words = written([across, up]).map(inWords).join(", ");
    if (words) drag.caption.textContent = words;
  });
  document.addEventListener("pointerup", (event) => {
    const fields = drag ? written(dragged(event)) : [];
    if (fields.length) post(drag.layer.closest("form").action, fields);
    else putBack();
    drag = null;
    pick(touched);
  });
  document.addEventListener("pointercancel", () => {
    putBack();
    drag = touched = null;
  });
}

/** What is found is put in place as it is found; a connection that broke while the screen was off may look whole. */
function listen() {
  if (document.visibilityState !== "visible") return;
  line?.close();
  line = new EventSource(`${batch}/news`);
  line.onmessage = (event) => place(event.data).then(catchUp);
}

/** What was changed on another screen is asked for, after what is on its way from here. */
async function catchUp() {
  await saving;
  if (document.getElementById("bar").dataset.version !== version()) post(`${batch}/set`, []);
}

/** Say at the end of a form why what it asks for is not done. */
function refuse(form, ...lines) {
  const said = form.appendChild(document.createElement("p"));
  said.className = "fault";
  said.setAttribute("role", "alert");
  said.innerText = lines.join("\n");
  said.scrollIntoView({ block: "nearest" });
}

/** Fetch the file that a form asks for; why it cannot be made is said where it can be put right. */
async function fetchFile(form) {
  const { pathname } = new URL(form.action);
  const answer = await fetch(`${pathname}?${new URLSearchParams(new FormData(form))}`);
  if (!answer.ok) {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return refuse(form, ...[...page.querySelectorAll("main p:not(:has(a))")].map((one) => one.textContent));
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await answer.blob());
  link.download = pathname.slice(pathname.lastIndexOf("/") + 1);
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000); // it is being kept
}

/** A form that takes the whole page along is sent only where there is an answer: what is typed would be gone. */
async function sendPlainForm(event) {
  const form = event.target;
  if (form === sent || form.matches("form[data-live], #evening, .trimmer form")) return;
  event.preventDefault();
  if (asked === form) return;
  asked = form;
  form.setAttribute("aria-busy", "true");
  form.querySelector(":scope > .fault")?.remove();
  let goOn;
  released = new Promise((done) => { goOn = done; }); // what comes meanwhile does not take its place
  try {
    await fetch("/static/icon.svg", { cache: "no-store", signal: AbortSignal.timeout(10_000) });
    if (form.method === "get") await fetchFile(form);
    else {
      sent = form;
      form.requestSubmit(event.submitter);
    }
  } catch {
    refuse(form, "This is not done: the program does not answer. Try again; if it has ended, start it again.");
    for (const field of form.elements) if (field.type === "file") field.value = ""; // the same photo can be chosen again
  }
  form.removeAttribute("aria-busy");
  asked = sent = null;
  goOn();
}

/** A step that is linked to is unfolded, and what is wrong in it is shown. */
function unfold() {
  const step = document.getElementById(location.hash.slice(1));
  for (const one of step?.querySelectorAll(":scope > details, details:has(.fault)") ?? []) one.open = true;
  (step?.querySelector("[aria-invalid]") ?? step?.querySelector(".fault") ?? step)?.scrollIntoView();
}

pressOnce();
document.addEventListener("submit", sendPlainForm);

if (main) {
  saveAtLeaving();
  listen();
  document.addEventListener("visibilitychange", listen);
  unfold();
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("a[href^='#']")) setTimeout(unfold); // also where it was linked to before
  });
  holdStill();
  dragLayers();

  document.addEventListener("input", (event) => {
    const field = event.target;
    if (isUnsaved(field) && field.name.startsWith("/cards/")) look(field);
  });

  document.addEventListener("change", (event) => {
    const field = event.target;
    const form = field.closest?.("form[data-live]");
    if (form && isOfFile(field.name) && !replacing) {
      if (field.matches("select") && moving && !isSilent()) held.push({ meant: subject(field), chosen: field.value });
      else post(form.action, [[field.name, field.value]], [field]);
    }
    if (field.type === "file" && field.files.length) field.form.requestSubmit();
  });

  document.addEventListener("focusout", (event) => { // what was typed before it was put in place is no change to the browser
    const field = event.target;
    if (isUnsaved(field) && isOfFile(field.name) && !replacing) post(field.form.action, [[field.name, field.value]], [field]);
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-live], #evening")) return;
    event.preventDefault();
    const button = event.submitter;
    const typed = [...form.elements].filter((field) => isUnsaved(field) && field.name);
    const isMeant = ([name, value]) =>
      typed.some((field) => field.name === name) || (button?.name === name && button.value === value);
    const fields = [...new FormData(form, button)].filter(
      ([name, value]) => name !== "version" && name !== "card" && (!isOfFile(name) || isMeant([name, value])),
    );
    const meant = button && meaning(button);
    if (button?.matches(MOVES)) button.focus({ preventScroll: true }); // not every browser does by itself
    pressing.add(meant);
    post(button?.getAttribute("formaction") ?? form.action, fields, typed).then(() => pressing.delete(meant));
  });

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || !field.matches("form[data-live] input") || !isOfFile(field.name)) return;
    event.preventDefault(); // it would press the form's first button
    if (isUnsaved(field)) post(field.form.action, [[field.name, field.value]], [field]);
  });

  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") return;
    if (isUnsaved(event.target)) return; // its own undo
    event.preventDefault();
    const form = document.getElementById("evening");
    post(event.shiftKey ? form.querySelector("[formaction]").getAttribute("formaction") : form.action, []);
  });
}
