// A button beside a link that is shown once: copies it, or where that is not allowed selects it and says so.
(() => {
  "use strict";
  document.querySelectorAll("[data-copy]").forEach((button) => {
    const field = document.getElementById(button.dataset.copy);
    const told = button.parentElement.querySelector("[role=status]");
    if (!field || !told) return;
    button.hidden = false;
    field.addEventListener("focus", () => field.select());
    button.addEventListener("click", async () => {
      field.focus();
      field.select();
      field.setSelectionRange(0, field.value.length); // a phone selects nothing otherwise
      let done = false;
      try {
        await navigator.clipboard.writeText(field.value); // only on https and this machine itself
        done = true;
      } catch {
        try {
          done = document.execCommand("copy");
        } catch {
          done = false;
        }
      }
      told.textContent = done ? button.dataset.done : button.dataset.selected;
    });
  });
})();
