// Shows what comes next in place, also when it is ticked on another screen, and keeps the screen awake.
// Loaded after page.js, whose words it says.
"use strict";

const shown = () => document.querySelector("main.trimmer");
let news = null;
let told = ""; // what comes next, by the latest news
let going = false;
let since = 0; // when what is shown was put in place

/** Ask until there is an answer, and show it. What was said twice is taken down once, by the name of the press. */
async function go(address, said) {
  if (going) return;
  going = true;
  const before = told;
  const form = said && { method: "POST", body: new URLSearchParams([...said, ["press", String(Math.random())]]) };
  for (let asked = 1, answered = false; !answered; asked += 1) {
    try {
      const answer = await fetch(address, { ...form, signal: AbortSignal.timeout(10_000) });
      show(answer, await answer.text(), address);
      answered = true;
    } catch {
      document.getElementById("told").textContent = unanswered(asked);
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
  going = false;
  if (told !== before) follow();
}

function show(answer, html, sent) {
  const fresh = new DOMParser().parseFromString(html, "text/html").querySelector("main.trimmer");
  if (!answer.ok || !fresh) return location.reload(); // nothing is cut here any more
  for (const form of shown().querySelectorAll("form")) if (form.action !== sent) keepTyped(form, fresh);
  shown().replaceWith(fresh);
  stayAwake();
  history.replaceState(null, "", answer.url);
  const wrong = fresh.querySelector("[aria-invalid]");
  (wrong ?? fresh.querySelector("h1")).focus();
  if (!wrong) scrollTo(0, 0);
  since = performance.now();
}

/** Whether a field holds what is not told yet: it is being typed, or was refused. */
const isUntold = (one) => one.value !== one.defaultValue || one.matches("[aria-invalid]");
const isTyped = () => [...shown().querySelectorAll("input")].some(isUntold);

/** What is typed in a form stays in it at the next stroke; how many sheets are spoilt is of the stroke itself. */
function keepTyped(form, fresh) {
  const same = [...fresh.querySelectorAll("form")].find((one) => one.action === form.action);
  const fields = [...form.querySelectorAll("input:not([type=hidden], [name=sheets]), select")];
  if (!same || !fields.some((one) => one.matches("input") && isUntold(one))) return;
  for (const one of fields) same.elements[one.name].value = one.value;
  same.closest("details").open = true;
}

/** Go on where another screen is, unless something is being typed here. */
function follow() {
  if (told !== shown().dataset.state && !isTyped()) go(location.pathname);
}

/** Be told anew: a connection that broke while the screen was off may look whole. */
function hear() {
  news?.close();
  news = new EventSource(`${location.pathname}/news`);
  news.onmessage = (event) => {
    told = event.data;
    follow();
  };
}

document.addEventListener("click", (event) => {
  const pressed = event.target.closest("main.trimmer :is(button, a[href^='?'])");
  if (!pressed) return;
  // a finger that was on its way means what was shown before
  if (performance.now() - since < 500) event.preventDefault();
  else if (pressed.href) {
    event.preventDefault();
    go(pressed.href);
  }
});

document.addEventListener("submit", (event) => {
  event.preventDefault();
  go(event.target.action, new FormData(event.target));
});

async function stayAwake() {
  const awake = document.getElementById("awake");
  if (!awake || document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // Over plain http from another machine a browser has no such thing.
    awake.textContent = "This browser lets the screen go to sleep: set it to stay on by hand.";
    awake.hidden = false;
  }
}

addEventListener("beforeunload", (event) => {
  if (isTyped()) event.preventDefault();
});

document.addEventListener("visibilitychange", () => {
  stayAwake();
  if (document.visibilityState === "visible") hear();
});
stayAwake();
hear();
