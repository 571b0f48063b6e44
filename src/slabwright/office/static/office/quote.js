// The customer's page: ticking an option asks the office for the new total.
(() => {
  "use strict";
  const form = document.querySelector("form[data-sum]");
  if (!form) return;
  form.querySelectorAll(".no-script").forEach((one) => one.remove());
  const total = form.elements.namedItem("total");
  let latest = 0;
  form.addEventListener("change", async (event) => {
    if (event.target.name !== "take") return;
    const mine = ++latest;
    const asked = new URLSearchParams({ lang: form.elements.namedItem("lang").value });
    form.querySelectorAll("input[name=take]:checked").forEach((one) => asked.append("take", one.value));
    const place = document.getElementById("sum");
    place.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(`${form.dataset.sum}?${asked}`, { headers: { "X-Part": "sum" }, credentials: "same-origin" });
      if (mine !== latest) return;
      if (answer.ok || answer.status === 422) {
        const made = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("sum");
        if (!made) throw new Error("no sum");
        place.replaceChildren(...made.childNodes);
        total.value = made.dataset.total;
      }
    } catch {
      total.value = ""; // the office then shows the total before it takes the signature
    }
    place.removeAttribute("aria-busy");
  });
})();
