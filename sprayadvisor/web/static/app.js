// Comfort only: everything on the page works without it.
"use strict";
if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("/sw.js").catch(() => {});
}
