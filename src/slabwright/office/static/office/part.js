// Parts of a page that come in their own request: loaded when they stand on it, and their forms stay in them.
(() => {
  "use strict";
  if (window.slabParts) return; // each part brings this file; one of them is enough
  window.slabParts = true;
  const headers = { "X-Part": "true" };

  const put = async (place, answer) => {
    place.innerHTML = await answer.text();
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

  const load = async (place) => {
    place.dataset.partLoaded = "yes";
    place.setAttribute("aria-busy", "true");
    const wait = place.querySelector(".part-wait");
    if (wait) wait.hidden = false;
    try {
      const answer = await fetch(place.dataset.part, { headers, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      await put(place, answer);
    } catch {
      if (wait) wait.hidden = true;
      failed(place);
    }
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    const place = form.closest("[data-part]");
    if (!place || "whole" in form.dataset) return;
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

  // What follows the notes is fetched anew once they rest, unless somebody writes in it just now.
  let rest;
  const follow = () => {
    clearTimeout(rest);
    rest = setTimeout(() => document.querySelectorAll("[data-part-follows]").forEach((place) => {
      if (!place.contains(document.activeElement)) load(place);
    }), 1200);
  };
  const job = document.getElementById("job");
  if (job) job.addEventListener("sheet:saved", follow);

  const look = () => document.querySelectorAll("div[data-part]:not([data-part-loaded])").forEach(load);
  new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
  look();
})();
