// Parts of a page that come in their own request: loaded when they stand on it, and their forms stay in them.
(() => {
  "use strict";
  if (window.slabParts) return; // each part brings this file; one of them is enough
  window.slabParts = true;
  const headers = { "X-Part": "true" };

  // Nothing is taken from under a finger: while a button is pressed the new part waits, and once the whole
  // page is on its way to another one it does not come at all. A swap between press and release loses the press.
  let released = Promise.resolve();
  let letGo = () => {};
  document.addEventListener("pointerdown", () => { released = new Promise((done) => { letGo = done; }); }, true);
  for (const kind of ["pointerup", "pointercancel"]) {
    document.addEventListener(kind, () => setTimeout(() => letGo(), 60), true);
  }
  const leaving = (place) => "leaving" in place.dataset;
  const put = async (place, answer, still = () => true) => {
    const text = await answer.text();
    await released;
    if (leaving(place)) return;
    if (still()) {
      place.innerHTML = text;
      delete place.dataset.typed;
    }
    place.removeAttribute("aria-busy");
  };
  const failed = (place) => {
    place.removeAttribute("aria-busy");
    let note = place.querySelector(".part-failed");
    if (!note) {
      note = document.createElement("p");
      note.className = "part-failed stop";
      note.setAttribute("role", "alert");
      place.prepend(note);
    }
    note.textContent = place.dataset.wordFailed;
  };

  const load = async (place, still) => {
    place.dataset.partLoaded = "yes";
    place.setAttribute("aria-busy", "true");
    const wait = place.querySelector(".part-wait");
    if (wait) wait.hidden = false;
    try {
      const answer = await fetch(place.dataset.part, { headers, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      await put(place, answer, still);
    } catch {
      if (wait) wait.hidden = true;
      failed(place);
    }
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    const place = form.closest("[data-part]");
    if (!place) return;
    if ("whole" in form.dataset || (event.submitter && "whole" in event.submitter.dataset)) {
      place.dataset.leaving = "yes";
      return;
    }
    event.preventDefault();
    const data = new FormData(form, event.submitter);
    place.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.action, { method: "POST", body: data, headers, credentials: "same-origin" });
      if (!answer.ok && answer.status !== 422) throw new Error(String(answer.status));
      await put(place, answer);
      const told = place.querySelector('[role="alert"], [aria-invalid="true"]');
      if (told) told.scrollIntoView({ block: "nearest" });
    } catch {
      failed(place);
    }
  });

  document.addEventListener("input", (event) => {
    const place = event.target.closest("[data-part]");
    if (place) place.dataset.typed = "yes";
  });
  // Who comes back to this page by the browser's own button finds it as it was left, and at work again.
  addEventListener("pageshow", () => document.querySelectorAll("[data-leaving]").forEach((place) => {
    delete place.dataset.leaving;
  }));

  // What follows the notes is fetched anew once they rest, unless somebody writes in it or has written.
  let rest;
  const idle = (place) => !("typed" in place.dataset) && !place.contains(document.activeElement);
  const follow = () => {
    clearTimeout(rest);
    rest = setTimeout(() => document.querySelectorAll("[data-part-follows]").forEach((place) => {
      if (idle(place)) load(place, () => idle(place));
    }), 1200);
  };
  const job = document.getElementById("job");
  if (job) job.addEventListener("sheet:saved", follow);

  const look = () => document.querySelectorAll("div[data-part]:not([data-part-loaded])").forEach((place) => load(place));
  new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
  look();
})();
