// The place of the job from the phone that stands there: asked for only by a press, written into the three fields.
(() => {
  "use strict";
  const job = document.getElementById("job");
  if (!job || !navigator.geolocation || !window.isSecureContext) return;
  const WAIT = 20000; // [ms] for a first fix under trees
  const FINE = 4; // decimals: about ten metres, more than the sun asks for

  const show = () => { for (const one of document.querySelectorAll(".here")) one.hidden = false; };
  job.addEventListener("sheet:shown", show);
  show();

  function write(key, value) {
    const control = document.getElementById(`f-place.${key}`);
    if (!control || control.value === value) return;
    control.value = value;
    control.dispatchEvent(new Event("change", { bubbles: true }));
  }

  job.addEventListener("click", ({ target }) => {
    const button = target.closest && target.closest(".here button");
    if (!button) return;
    const box = button.closest(".here");
    const said = box.querySelector("[role=status]");
    said.textContent = box.dataset.wordWait;
    navigator.geolocation.getCurrentPosition(({ coords }) => {
      write("latitude", coords.latitude.toFixed(FINE));
      write("longitude", coords.longitude.toFixed(FINE));
      write("zone", Intl.DateTimeFormat().resolvedOptions().timeZone || "");
      said.textContent = box.dataset.wordDone;
    }, () => { said.textContent = box.dataset.wordNo; }, { timeout: WAIT, maximumAge: 60000, enableHighAccuracy: false });
  });
})();
