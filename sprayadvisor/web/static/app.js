// Comfort and age. Everything on the page works without it; the worker takes its words from here.
"use strict";
const GROWS_OLD_MS = 10 * 60000;

function age(ms) {
  const minutes = Math.max(0, Math.floor(ms / 60000));
  if (minutes < 120) return minutes + " min";
  return Math.floor(minutes / 60) + " h";
}

function clock(at) {
  return new Date(at).toLocaleString("en-GB",
    { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
}

// The band above whatever is no longer new. What is read aloud is that it came, not each minute.
function band(at, words, after) {
  return '<p class="old" role="alert" data-at="' + at + '">OLD. ' + words
    + ' <span data-age aria-live="off">' + age(Date.now() - at) + "</span> ago, at " + clock(at)
    + after + "</p>";
}

function keepAge(document, loaded) {
  const shown = document.querySelector(".old[data-at]");
  if (shown) {
    const told = shown.querySelector("[data-age]"), now = age(Date.now() - Number(shown.dataset.at));
    if (told.textContent !== now) told.textContent = now;
  } else if (Date.now() - loaded >= GROWS_OLD_MS && document.querySelector("main .badge")) {
    document.getElementById("main").insertAdjacentHTML("beforebegin", grown(document, loaded));
  }
}

function grown(document, loaded) {
  if (!document.querySelector(".answer")) {
    return band(loaded, "This page was loaded", ". Verdicts may have changed; "
      + '<a href="">load it anew</a> before you decide by it.');
  }
  const form = document.querySelector('main form[action^="/now/"]');
  const asks = form ? form.getAttribute("action").split("/").slice(0, 3).join("/") : "/now";
  return band(loaded, "This answer was loaded", ". It says nothing of now: measure, and "
    + '<a href="' + asks + '">ask again</a>.');
}

if (typeof document !== "undefined") {
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("/sw.js").catch(() => {});
  }
  // By the phone's own clock alone, which need not be right: only how long it ran is used.
  const loaded = Date.now();
  const look = () => keepAge(document, loaded);
  document.addEventListener("visibilitychange", look);
  window.addEventListener("pageshow", look);
  setInterval(look, 60000);
}
