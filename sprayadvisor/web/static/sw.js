// Keeps the page of today, for a phone without a connection. Nothing else is kept but style and
// icons: never the page of a job, and never an answer to "now".
"use strict";
importScripts("{{ app.js }}");
const KEPT = "kept-{{ all }}";
const BRIEF = "brief";
const FILES = ["{{ app.css }}", "{{ app.js }}", "{{ icon.svg }}", "{{ icon-192.png }}"];
const WAIT_MS = 8000;
const SECRET = ["/login", "/logout"]; // what is typed there is shown nowhere
const OF_ITS_MINUTE = /[/](begin|at)$/; // counts for the minute it is sent in, so never sent later
const HIDDEN = ["once", "was", "stage"];

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(
        names.filter((name) => name !== KEPT && name !== BRIEF).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const asked = new URL(event.request.url);
  const { method, mode } = event.request;
  if (asked.origin !== self.location.origin) return;
  if (method === "POST" && mode === "navigate" && !SECRET.includes(asked.pathname)) {
    event.respondWith(sent(event.request, asked.pathname));
  }
  if (method !== "GET") return;
  if (asked.pathname.startsWith("/static/")) {
    event.respondWith(caches.match(event.request).then((found) => found || fetch(event.request)));
  } else if (mode === "navigate") {
    event.respondWith(page(event.request, asked.pathname));
  }
});

async function page(request, path) {
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(WAIT_MS) });
    if (path === "/" && answer.ok && answer.headers.get("X-Keep") === "brief") {
      await keep(answer.clone());
    }
    if (!isProxys(answer)) return answer;
  } catch (error) {
    // no connection
  }
  return path === "/" ? kept() : none();
}

// Something in front of the page that found nobody there.
function isProxys(answer) {
  return [502, 503, 504].includes(answer.status) && answer.headers.get("X-From") !== "sprayadvisor";
}

async function sent(request, path) {
  const typed = await request.clone().formData();
  try {
    const answer = await fetch(request);
    if (!isProxys(answer)) return answer;
  } catch (error) {
    // no connection
  }
  return unsent(path, [...typed].filter(([, text]) => typeof text === "string"));
}

async function keep(answer) {
  const headers = new Headers({ "Content-Type": "text/html; charset=utf-8", "X-At": String(Date.now()) });
  const brief = await caches.open(BRIEF);
  await brief.put("/", new Response(await answer.text(), { headers }));
}

async function kept() {
  const brief = await caches.open(BRIEF);
  const found = await brief.match("/");
  if (!found) return none();
  const at = Number(found.headers.get("X-At"));
  const old = band(at, "There is no connection: this was loaded",
    ". Verdicts may have changed; do not decide by it alone.");
  const html = (await found.text())
    .replace("<!-- old -->", old)
    .replace(/<meta http-equiv="refresh"[^>]*>/, "");
  return answered(html, 200);
}

function none() {
  return answered(plain("<p>This page needs one. What is true now cannot be told from what was "
    + 'kept.</p><p><a class="button" href="/">The last brief that was kept</a></p>'), 503);
}

// A form that did not arrive: all that was typed, to be sent again. Never an answer.
function unsent(path, typed) {
  if (OF_ITS_MINUTE.test(path)) {
    return answered(plain('<p class="short" role="alert">What you tapped has most likely not been '
      + "noted. Look at the job once there is a connection, and note it then.</p>"), 503);
  }
  const again = path.startsWith("/now/") ? asReadAt(typed, new Date()) : typed;
  const shown = again.filter(([name, text]) => text && !HIDDEN.includes(name));
  const said = navigator.onLine
    ? "No answer came, and nothing was judged. To send it again is safe: it is kept once."
    : "Nothing was sent, and nothing was judged.";
  return answered(plain('<p class="short" role="alert">' + said + "</p>"
    + "<h2>What you typed</h2><p>It is kept here until you leave this page.</p>"
    + '<dl class="typed">' + shown.map(([name, text]) =>
      "<dt>" + plainly(name.replaceAll("_", " ")) + "</dt><dd>" + plainly(text) + "</dd>").join("")
    + '</dl><form method="post" action="' + plainly(path) + '">' + again.map(([name, text]) =>
      '<input type="hidden" name="' + plainly(name) + '" value="' + plainly(text) + '">').join("")
    + '<button type="submit">Send it again</button></form>'), 503);
}

// What was read is of this minute, whenever it is sent.
function asReadAt(typed, now) {
  const at = String(now.getHours()).padStart(2, "0") + ":" + String(now.getMinutes()).padStart(2, "0");
  const said = new Map(typed);
  if (!said.get("at")) said.set("at", at);
  if (said.get("matt_now") && !said.get("matt")) said.set("matt", at);
  said.delete("matt_now");
  return [...said];
}

function plainly(text) {
  return text.replace(/[&<>"']/g, (one) => "&#" + one.charCodeAt(0) + ";");
}

function plain(words) {
  return '<!doctype html><html lang="en-IE"><head><meta charset="utf-8">'
    + '<meta name="viewport" content="width=device-width, initial-scale=1">'
    + "<title>No connection</title>"
    + '<link rel="stylesheet" href="{{ app.css }}"></head><body><main><h1>No connection</h1>'
    + words + "</main></body></html>";
}

function answered(html, status) {
  return new Response(html, { status, headers: {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self'; "
      + "script-src 'self'; manifest-src 'self'; form-action 'self'",
  } });
}
