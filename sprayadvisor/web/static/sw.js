// Keeps the page of today, for a phone without a connection. Nothing else is kept but style and
// icons: never the page of a job, and never an answer to "now".
"use strict";
const KEPT = "kept-{{ all }}";
const BRIEF = "brief";
const FILES = ["{{ app.css }}", "{{ icon.svg }}", "{{ icon-192.png }}"];
const WAIT_MS = 8000;

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
  if (asked.origin !== self.location.origin || event.request.method !== "GET") return;
  if (asked.pathname.startsWith("/static/")) {
    event.respondWith(caches.match(event.request).then((found) => found || fetch(event.request)));
  } else if (event.request.mode === "navigate") {
    event.respondWith(page(event.request, asked.pathname));
  }
});

async function page(request, path) {
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(WAIT_MS) });
    if (path === "/" && answer.ok && answer.headers.get("X-Keep") === "brief") {
      await keep(answer.clone());
    }
    return answer;
  } catch (error) {
    return path === "/" ? kept() : none();
  }
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
  const band = '<p class="old" role="alert">OLD. There is no connection: this was loaded '
    + age(Date.now() - at) + " ago, at " + clock(at) + ". Verdicts may have changed; "
    + "do not decide by it alone.</p>";
  const html = (await found.text())
    .replace("<!-- old -->", band)
    .replace(/<meta http-equiv="refresh"[^>]*>/, "");
  return answered(html, 200);
}

function none() {
  return answered('<!doctype html><html lang="en-IE"><head><meta charset="utf-8">'
    + '<meta name="viewport" content="width=device-width, initial-scale=1">'
    + "<title>No connection</title>"
    + '<link rel="stylesheet" href="{{ app.css }}"></head><body><main><h1>No connection</h1>'
    + "<p>This page needs one. What is true now cannot be told from what was kept.</p>"
    + '<p><a class="button" href="/">The last brief that was kept</a></p></main></body></html>', 503);
}

function answered(html, status) {
  return new Response(html, { status, headers: {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self'; "
      + "script-src 'self'; manifest-src 'self'; form-action 'none'",
  } });
}

function age(ms) {
  const minutes = Math.max(0, Math.round(ms / 60000));
  if (minutes < 120) return minutes + " min";
  return Math.round(minutes / 60) + " h";
}

function clock(at) {
  return new Date(at).toLocaleString("en-GB",
    { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
}
