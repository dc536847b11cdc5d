// Keeps the screen awake while there is something to be read beside the trimmer.
"use strict";

const awake = document.getElementById("awake");

async function stayAwake() {
  if (!awake || document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // Over plain http from another machine a browser has no such thing.
    awake.textContent = "This browser lets the screen go to sleep: set it to stay on by hand.";
    awake.hidden = false;
  }
}

document.addEventListener("visibilitychange", stayAwake);
stayAwake();
