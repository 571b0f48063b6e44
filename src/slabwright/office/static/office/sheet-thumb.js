// The long sheet on a phone: its parts and its plan under the thumb, and folded away what is not to be written now.
(() => {
  "use strict";
  const job = document.getElementById("job");
  const thumb = document.querySelector(".thumb");
  if (!job || !thumb) return;
  const phone = window.matchMedia("(max-width: 61.99rem)");
  const name = `slabwright:folds:${job.dataset.person}:${job.dataset.code}`;
  const SHOWN = 3; // values beside the heading of a part that is folded

  // --- what the person opened and closed, while this tab is open ---------------------------------------
  const folds = () => { try { return JSON.parse(sessionStorage.getItem(name) || "{}"); } catch { return {}; } };
  const remember = (key, open) => {
    try { sessionStorage.setItem(name, JSON.stringify({ ...folds(), [key]: open })); } catch { /* kept by the page alone */ }
  };
  const keyOf = (fold) => {
    const table = fold.classList.contains("table-fold") && fold.querySelector("table");
    return table ? table.id : fold.classList.contains("group-fold") ? fold.parentElement.id : "";
  };

  // A part is open where something is to be put right or an example is to be written over.
  const wanted = (fold) => (fold.classList.contains("table-fold") ? fold.hasAttribute("open") && "first" in fold.dataset
    : "wrong" in fold.dataset || "examples" in fold.dataset);

  function fold() {
    const mine = folds();
    for (const one of document.querySelectorAll(".group-fold, .table-fold")) {
      const key = keyOf(one);
      one.open = key in mine ? mine[key] : phone.matches ? wanted(one) : one.open;
      gist(one);
    }
  }

  // What is written in a part stands beside its heading while it is folded.
  function gist(one) {
    const summary = one.querySelector(":scope > summary");
    if (!summary || !one.classList.contains("group-fold") || Number(one.dataset.rows)) return;
    const told = [...one.querySelectorAll("[name^='v:']")]
      .map((control) => (control.tagName === "SELECT" ? control.value && control.selectedOptions[0].text : control.value))
      .filter(Boolean).slice(0, SHOWN).join(" \u00b7 ");
    const place = summary.querySelector(".gist") || summary.insertBefore(document.createElement("span"), summary.children[1] || null);
    place.className = "gist quiet";
    place.textContent = told;
  }

  document.addEventListener("toggle", ({ target }) => {
    if (target.matches && target.matches(".group-fold, .table-fold")) gist(target);
  }, true);
  document.addEventListener("click", ({ target }) => {
    const summary = target.closest && target.closest(".group-fold > summary, .table-fold > summary");
    if (summary) remember(keyOf(summary.parentElement), !summary.parentElement.open); // it turns after this
  });

  // --- going somewhere: whatever it lies in opens --------------------------------------------------------
  function reveal(place) {
    for (let at = place; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
    const inner = place.matches(".group") && place.querySelector(":scope > details");
    if (inner) inner.open = true;
  }
  function go(hash) {
    const place = hash.length > 1 && document.getElementById(decodeURIComponent(hash.slice(1)));
    if (!place) return;
    reveal(place);
    if (place.id === "plan") place.querySelector("details").open = true;
    place.scrollIntoView();
    if (place.matches("input, select, textarea")) place.focus({ preventScroll: true });
  }
  job.addEventListener("click", ({ target }) => {
    const link = target.closest && target.closest("a[href^='#']");
    if (link) setTimeout(() => go(link.getAttribute("href")));
  });
  window.addEventListener("hashchange", () => go(location.hash));

  // --- the bar -------------------------------------------------------------------------------------------
  const menu = thumb.querySelector(".thumb-parts");
  const here = document.getElementById("thumb-here");
  const links = [...menu.querySelectorAll("a")];
  thumb.addEventListener("click", ({ target }) => {
    const link = target.closest("a");
    if (!link) return;
    menu.open = false;
    if (link.getAttribute("href") === location.hash) setTimeout(() => go(location.hash)); // the address is the same already
    if (link.classList.contains("thumb-plan")) document.querySelector("#plan > details").open = true;
  });
  document.addEventListener("click", ({ target }) => { if (menu.open && !menu.contains(target)) menu.open = false; });
  document.addEventListener("keydown", ({ key }) => {
    if (key === "Escape" && menu.open) { menu.open = false; menu.querySelector("summary").focus(); }
  });

  let waiting = false;
  function look() {
    waiting = false;
    const line = window.innerHeight / 3;
    let now = links[0];
    for (const link of links) {
      const part = document.getElementById(link.hash.slice(1));
      if (part && part.getBoundingClientRect().top <= line) now = link;
    }
    for (const link of links) {
      if (link === now) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    if (here.textContent !== now.textContent) here.textContent = now.textContent;
  }
  window.addEventListener("scroll", () => {
    if (waiting || !phone.matches) return;
    waiting = true;
    requestAnimationFrame(look);
  }, { passive: true });

  job.addEventListener("sheet:shown", () => { for (const one of document.querySelectorAll(".group-fold")) gist(one); });
  fold();
  look();
  if (location.hash) go(location.hash);
})();
