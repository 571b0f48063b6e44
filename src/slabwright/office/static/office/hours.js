// The day of the pour: fetched once it is worked out, then told hour by hour by a slider.
"use strict";
(() => {
  function slider(root) {
    const input = root.querySelector("#clock");
    if (!input) return;
    const steps = JSON.parse(root.querySelector("#clock-steps").textContent);
    const at = root.querySelector("#clock-at").content.textContent;
    const told = (name) => root.querySelector(`[data-told="${name}"]`);
    const svg = root.querySelector(".hours-chart svg");
    const now = document.createElementNS("http://www.w3.org/2000/svg", "line");
    now.setAttribute("class", "now");
    now.setAttribute("y1", 0);
    now.setAttribute("y2", svg.getAttribute("viewBox").split(" ")[3]);
    svg.append(now);
    let waits = 0;
    function show() {
      const step = steps[Number(input.value)];
      now.setAttribute("x1", step.x);
      now.setAttribute("x2", step.x);
      input.setAttribute("aria-valuetext", step.clock);
      // a screen reader hears where the slider comes to rest, not every place it passed
      clearTimeout(waits);
      waits = setTimeout(() => {
        told("clock").textContent = at.replace("{clock}", step.clock);
        told("crew").textContent = step.crew;
        told("panels").replaceChildren(
          ...step.panels.map(([name, says, code]) => {
            const li = document.createElement("li");
            const b = document.createElement("b");
            b.textContent = name;
            li.dataset.code = code;
            li.append(b, ` ${says}`);
            return li;
          }),
        );
      }, 60);
    }
    input.addEventListener("input", show);
    show();
  }

  async function load(root) {
    const again = root.querySelector(".day-again");
    const bar = root.querySelector("progress");
    again.hidden = true;
    bar.hidden = false;
    root.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(root.dataset.load, { headers: { "X-Part": "true" } });
      const html = await answer.text();
      if (!answer.ok && answer.status !== 401) throw new Error(String(answer.status));
      root.innerHTML = html;
      slider(root);
    } catch {
      again.hidden = false;
      bar.hidden = true;
    }
    root.setAttribute("aria-busy", "false");
  }

  // The phone is where the concrete is: its clock is the one meant, unless somebody typed a time.
  const at = document.querySelector("#seen:not([data-typed]) input[type=time]");
  if (at) {
    const now = new Date();
    at.value = `${String(now.getHours()).padStart(2, "0")}:${String(now.getMinutes()).padStart(2, "0")}`;
  }

  for (const root of document.querySelectorAll(".day")) {
    if (!root.dataset.load) slider(root);
    else {
      root.querySelector(".day-again button").addEventListener("click", () => load(root));
      load(root);
    }
  }
})();
