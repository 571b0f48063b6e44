// A row that was typed and not yet added: it stands there again when the page comes back, in this tab.
(() => {
  "use strict";
  const job = document.getElementById("job");
  if (!job) return;
  const name = `slabwright:drafts:${job.dataset.person}:${job.dataset.code}`;

  window.addEventListener("pagehide", () => {
    const typed = [...document.querySelectorAll(".adding:not(.kept) [name^='n:']")]
      .filter((one) => one.value.trim() && one.tagName !== "SELECT").map((one) => [one.id, one.value]);
    try {
      if (typed.length) sessionStorage.setItem(name, JSON.stringify(typed));
      else sessionStorage.removeItem(name);
    } catch { /* a phone that keeps nothing */ }
  });

  let kept = [];
  try { kept = JSON.parse(sessionStorage.getItem(name) || "[]"); } catch { /* nothing that can be read */ }
  for (const [id, value] of kept) {
    const control = document.getElementById(id);
    if (!control || control.value) continue;
    control.value = value;
    for (let at = control; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
  }
})();
