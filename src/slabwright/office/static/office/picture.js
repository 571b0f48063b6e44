// The plan on a page: switches, moving and zooming, what a press says, dragging a point. No library.
"use strict";
(() => {
  const CLEAR = 3.2; // [px] that a millimetre of the letters takes: they keep their size at every zoom
  const MOST = 24; // times closer than the whole plan
  const STEP = 1.4;
  const REACH = 24; // [px] from a point within which a press means it
  const hold = (v, least, most) => Math.min(Math.max(v, least), most);
  const { segments, over, clear, airy } = window.slabWords;
  const kept = {}; // what a picture looked like, so that a fresh one after an edit looks the same

  function start(root) {
    const frame = root.querySelector(".plan-frame");
    const svg = root.querySelector("svg.plan");
    if (!svg || root.dataset.ready) return;
    root.dataset.ready = "yes";
    const code = root.dataset.code;
    const mine = (kept[code] ||= { on: null, view: null, chosen: "" });
    const facts = JSON.parse(root.querySelector("#picture-facts").textContent);
    const words = [...svg.querySelectorAll(".word")].map((g) => ({
      g,
      at: g.dataset.at.split(" ").map(Number),
      box: g.dataset.box.split(" ").map(Number),
      rank: Number(g.dataset.rank),
      part: g.parentNode.dataset.part,
    }));
    const spots = [...svg.querySelectorAll(".spot")];
    const byKey = new Map(spots.map((one) => [one.dataset.key, one]));
    const [, , wide, high] = svg.getAttribute("viewBox").split(" ").map(Number);
    // What lies beyond the picture (a truck down the street) is named at the edge, where its way leaves.
    for (const one of words) {
      const [l, t, r, b] = one.box;
      if (one.at[0] < 0 || one.at[0] > wide || one.at[1] < 0 || one.at[1] > high) {
        one.at = [hold(one.at[0], l, r), hold(one.at[1], t, b)];
      }
    }
    const choose = root.querySelector(".plan-choose select");
    const box = root.querySelector(".spot-box");
    const status = root.querySelector('[data-told="status"]');
    let view = mine.view || { x: wide / 2, y: high / 2, zoom: 1 };
    let order = ["base"]; // parts, the one switched on last at the end: its words come first
    let waits = 0;

    // ---- the view: a middle [mm] and how much closer than the whole
    function ratio() {
      const r = svg.getBoundingClientRect();
      return r.height && r.width ? r.width / r.height : wide / high;
    }
    function whole() {
      const a = ratio();
      return a > wide / high ? { w: high * a, h: high } : { w: wide, h: wide / a };
    }
    function show() {
      const all = whole();
      view.zoom = Math.min(Math.max(view.zoom, 1), MOST);
      const w = all.w / view.zoom;
      const h = all.h / view.zoom;
      const slack = view.zoom > 1 ? 0.4 : 0;
      const within = (v, size, part) =>
        part >= size ? size / 2 : hold(v, part / 2 - slack * part, size - part / 2 + slack * part);
      view.x = within(view.x, wide, w);
      view.y = within(view.y, high, h);
      svg.setAttribute("viewBox", `${view.x - w / 2} ${view.y - h / 2} ${w} ${h}`);
      frame.classList.toggle("zoomed", view.zoom > 1.01);
      mine.view = view;
      if (!waits) waits = requestAnimationFrame(letters);
    }
    function at(event) {
      const r = svg.getBoundingClientRect();
      const [x, y, w, h] = svg.getAttribute("viewBox").split(" ").map(Number);
      return [x + ((event.clientX - r.left) / r.width) * w, y + ((event.clientY - r.top) / r.height) * h];
    }
    function closer(times, about) {
      const before = view.zoom;
      const [px, py] = about || [view.x, view.y];
      view.zoom = Math.min(Math.max(view.zoom * times, 1), MOST);
      const k = before / view.zoom;
      view.x = px + (view.x - px) * k;
      view.y = py + (view.y - py) * k;
      show();
    }
    function shift(dx, dy) {
      const all = whole();
      view.x += (dx * all.w) / view.zoom;
      view.y += (dy * all.h) / view.zoom;
      show();
    }

    // ---- lines that words keep off: those that are drawn, not the fine ones that fill an area
    const FINE = 0.15; // [mm]
    const drawn = [...svg.querySelectorAll(".part:not(.words) path[stroke]")]
      .filter((one) => Number(one.getAttribute("stroke-width")) > FINE && !one.closest(".ground"))
      .flatMap((one) => segments(one.getAttribute("d")).map((s) => ({ s, part: one.closest(".part").dataset.part })));

    // ---- words keep their size on the screen; those that would lie on another are left out until there is room
    function letters() {
      waits = 0;
      const r = svg.getBoundingClientRect();
      if (!r.width) return;
      const [vx, vy, w, h] = svg.getAttribute("viewBox").split(" ").map(Number);
      const k = Math.min(Math.max((CLEAR * w) / r.width, 0.12), 4.5);
      const taken = [];
      const lines = drawn.filter((one) => one.part === "base" || order.includes(one.part));
      const listed = words.filter((one) => order.includes(one.part));
      listed.sort((a, b) => order.indexOf(b.part) - order.indexOf(a.part) || a.rank - b.rank);
      for (const one of listed) {
        const [l, t, rr, b] = one.box;
        // small letters stay as far off their point as on paper; large ones move off with their size
        const [x, y] = k < 1 ? [hold(one.at[0], l, rr), hold(one.at[1], t, b)] : one.at;
        const put = [x + (l - x) * k, y + (t - y) * k, x + (rr - x) * k, y + (b - y) * k];
        const out = put[2] < vx || put[0] > vx + w || put[3] < vy || put[1] > vy + h;
        const [dx, dy] = out ? [0, 0] : clear(put, one, taken, lines, [vx, vy, vx + w, vy + h]);
        const laid = [put[0] + dx, put[1] + dy, put[2] + dx, put[3] + dy];
        const under = taken.some((o) => over(laid, o));
        one.g.classList.toggle("under", under);
        if (under) continue;
        if (!out) taken.push(dx || dy ? airy(laid) : laid);
        one.g.setAttribute("transform", `translate(${x * (1 - k) + dx} ${y * (1 - k) + dy}) scale(${k})`);
      }
      for (const one of spots) if (one.r) one.setAttribute("r", 4.2 * Math.min(k, 1));
    }

    // ---- switches
    const ticks = [...root.querySelectorAll(".switches input")];
    function switched() {
      for (const tick of ticks) {
        for (const g of svg.querySelectorAll(`.part-${tick.value}`)) g.classList.toggle("off", !tick.checked);
        order = order.filter((key) => key !== tick.value || tick.checked);
        if (tick.checked && !order.includes(tick.value)) order.push(tick.value);
      }
      mine.on = order.slice();
      letters();
    }
    if (mine.on) {
      order = mine.on.slice();
      for (const tick of ticks) tick.checked = mine.on.includes(tick.value);
    }
    for (const tick of ticks) tick.addEventListener("change", switched);

    // ---- what was chosen
    const move = root.querySelector(".spot-move");
    const said = (key) => root.querySelector(`template[data-words="${key}"]`).content.textContent;
    function choice(key, focus) {
      for (const one of svg.querySelectorAll(".chosen")) one.classList.remove("chosen");
      ghost(null);
      mine.chosen = key;
      const spot = byKey.get(key);
      const told = facts[key];
      box.hidden = !told;
      choose.value = told ? key : "";
      if (!told) return;
      if (spot) spot.classList.add("chosen");
      box.querySelector("h3").textContent = told.title;
      const list = box.querySelector("dl");
      list.replaceChildren(...rows(told.facts));
      if (key.startsWith("panel:")) hours(key, list);
      move.hidden = !told.move;
      const stays = box.querySelector(".spot-stays");
      stays.hidden = !told.stays;
      stays.textContent = told.stays || "";
      if (told.move) {
        move.along.value = told.move.written[0];
        move.out.value = told.move.written[1];
        root.querySelector('[data-told="along"]').textContent = said("along").replace("{line}", told.move.line);
        wrong("");
      }
      if (focus && spot) roving(spot);
      if (focus) box.scrollIntoView({ block: "nearest" });
    }
    const rows = (listed) =>
      listed.flatMap(([head, value]) => {
        const dt = document.createElement("dt");
        const dd = document.createElement("dd");
        dt.textContent = head;
        dd.textContent = value;
        return [dt, dd];
      });
    // a panel's hours are worked out only when somebody asks; without weather there are none
    let asked = null;
    async function hours(key, list) {
      asked ||= fetch(root.dataset.windows).then((answer) => (answer.ok ? answer.json() : {}));
      try {
        const all = await asked;
        if (mine.chosen === key && all[key]) list.append(...rows(all[key]));
      } catch {
        asked = null; // the next press asks again
      }
    }
    function wrong(text, field) {
      const p = move.querySelector(".wrong");
      p.hidden = !text;
      p.textContent = text;
      for (const input of [move.along, move.out]) {
        if (input === field) input.setAttribute("aria-invalid", "true");
        else input.removeAttribute("aria-invalid");
      }
      if (field) field.focus();
    }
    choose.addEventListener("change", () => {
      choice(choose.value);
      const spot = byKey.get(choose.value);
      if (spot) {
        const b = spot.getBBox();
        view.x = b.x + b.width / 2;
        view.y = b.y + b.height / 2;
        if (view.zoom < 2 && b.width < wide / 6) view.zoom = 2;
        show();
      }
    });
    root.addEventListener("click", (event) => {
      const button = event.target.closest("button[data-do]");
      if (!button) return;
      const does = button.dataset.do;
      if (does === "in") closer(STEP);
      else if (does === "out") closer(1 / STEP);
      else if (does === "whole") (view = { x: wide / 2, y: high / 2, zoom: 1 }), show();
      else if (does === "close") choice(""), frame.focus();
      else if (does === "back") choice(mine.chosen);
      else if (does === "print") printed();
    });
    function printed() {
      document.documentElement.classList.add("print-plan");
      window.print();
      document.documentElement.classList.remove("print-plan");
    }

    // ---- keyboard: the frame moves and zooms; inside it the arrows go from spot to spot
    let last = spots.find((one) => one.classList.contains("spot-mark")) || spots[0];
    function roving(spot) {
      if (last) last.setAttribute("tabindex", "-1");
      last = spot;
      spot.setAttribute("tabindex", "0");
      spot.focus({ preventScroll: true });
    }
    const middle = (one) => {
      const b = one.getBBox();
      return [b.x + b.width / 2, b.y + b.height / 2];
    };
    function next(from, dx, dy) {
      const [x, y] = middle(from);
      let best = null;
      let least = Infinity;
      for (const one of spots) {
        if (one === from) continue;
        const [u, v] = middle(one);
        const ahead = (u - x) * dx + (v - y) * dy;
        const aside = Math.abs((u - x) * dy) + Math.abs((v - y) * dx);
        if (ahead > 0.3 && ahead + 2.5 * aside < least) (best = one), (least = ahead + 2.5 * aside);
      }
      return best;
    }
    const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    frame.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const inside = event.target.closest(".spot");
      const way = ARROWS[event.key];
      if (event.key === "+" || event.key === "=") closer(STEP);
      else if (event.key === "-") closer(1 / STEP);
      else if (event.key === "0") (view = { x: wide / 2, y: high / 2, zoom: 1 }), show();
      else if (way && inside) {
        const to = next(inside, ...way);
        if (to) roving(to);
      } else if (way) shift(way[0] * 0.15, way[1] * 0.15);
      else if ((event.key === "Enter" || event.key === " ") && inside) choice(inside.dataset.key);
      else if (event.key === "Enter" && last) roving(last);
      else if (event.key === "Escape" && inside) last.setAttribute("tabindex", "-1"), frame.focus();
      else return;
      event.preventDefault();
    });

    // ---- pointer: one finger or the mouse moves, two zoom, a press chooses, a point that may move is dragged
    const down = new Map();
    let drag = null;
    let pinch = null;
    let moved = 0;
    frame.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      down.set(event.pointerId, event);
      moved = 0;
      const spot = pressed(event);
      const told = spot && facts[spot.dataset.key];
      drag = told && told.move && mine.chosen === spot.dataset.key ? { spot, told } : null;
      if (down.size === 2) (drag = null), (pinch = spread());
      if (down.size === 1 && (view.zoom > 1.01 || drag)) frame.setPointerCapture(event.pointerId);
      if (drag) event.preventDefault();
    });
    function spread() {
      const [a, b] = [...down.values()];
      const run = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1;
      return { run, mid: { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 } };
    }
    frame.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (!before) return;
      const [x0, y0] = at(before);
      const [x, y] = at(event);
      moved += Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY);
      down.set(event.pointerId, event);
      if (drag) ghost([x, y]);
      else if (down.size === 2) {
        const now = spread();
        closer(now.run / pinch.run, at(now.mid));
        const [a0, b0] = at(pinch.mid);
        const [a, b] = at(now.mid);
        view.x -= a - a0;
        view.y -= b - b0;
        pinch = now;
        show();
      } else if (view.zoom > 1.01 && moved > 4) {
        frame.classList.add("held");
        view.x -= x - x0;
        view.y -= y - y0;
        show();
      }
    });
    function up(event) {
      if (!down.delete(event.pointerId)) return;
      frame.classList.remove("held");
      if (event.type === "pointercancel") return (drag = null), ghost(null);
      if (drag && moved > 4) dropped(drag, at(event));
      else if (moved <= 6 && !down.size) {
        const spot = pressed(event);
        if (spot) choice(spot.dataset.key, true);
      }
      drag = null;
    }
    // the nearest point within a finger's width, else the joint or panel under it
    function pressed(event) {
      const [x, y] = at(event);
      const r = svg.getBoundingClientRect();
      let least = (REACH * Number(svg.getAttribute("viewBox").split(" ")[2])) / r.width;
      let best = null;
      for (const one of spots) {
        if (!one.r) continue;
        const off = Math.hypot(one.cx.baseVal.value - x, one.cy.baseVal.value - y);
        if (off <= least) (best = one), (least = off);
      }
      if (best) return best;
      const hit = document.elementFromPoint(event.clientX, event.clientY);
      const spot = hit && hit.closest && hit.closest(".spot");
      return spot && frame.contains(spot) ? spot : null;
    }
    frame.addEventListener("pointerup", up);
    frame.addEventListener("pointercancel", up);
    frame.addEventListener("dblclick", (event) => closer(2, at(event)));
    frame.addEventListener(
      "wheel",
      (event) => {
        if (!event.ctrlKey) return;
        event.preventDefault();
        closer(Math.exp(-event.deltaY / 150), at(event));
      },
      { passive: false },
    );

    // ---- a point that may move: its ghost, the numbers it would have, and the edit
    function ghost(place) {
      const old = svg.querySelector(".ghost");
      if (old) old.remove();
      if (!place) return;
      const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      ring.setAttribute("class", "ghost");
      ring.setAttribute("cx", place[0]);
      ring.setAttribute("cy", place[1]);
      ring.setAttribute("r", 2);
      svg.append(ring);
    }
    async function dropped(what, [px, py]) {
      const { k, x0, y0 } = svg.dataset;
      const x = (px - x0) / k;
      const y = (y0 - py) / k;
      const ask = new URLSearchParams({ point: what.told.move.point, x, y });
      try {
        const answer = await fetch(`${root.dataset.place}?${ask}`, { headers: { Accept: "application/json" } });
        if (!answer.ok) throw new Error(String(answer.status));
        const put = await answer.json();
        move.along.value = put.along;
        move.out.value = put.out;
        status.textContent = `${put.along}, ${put.out}`;
        move.querySelector(".go").focus({ preventScroll: true });
      } catch {
        wrong(said("failed"));
      }
    }
    move.addEventListener("submit", async (event) => {
      event.preventDefault();
      const told = facts[mine.chosen];
      const typed = [move.along.value.trim(), move.out.value.trim()];
      const edits = told.move.paths
        .map((path, n) => ({ kind: "set", path, value: typed[n], seen: told.move.written[n] }))
        .filter((edit) => edit.value !== edit.seen);
      if (!edits.length) return ghost(null);
      for (const [path, seen] of told.move.drops) edits.push({ kind: "delete", path, seen });
      const sent = { edits, base: Number(root.dataset.number), client: mine.client || (mine.client = fresh()) };
      wrong("");
      try {
        const read = await fetch(`${root.dataset.place}?${new URLSearchParams({ along: typed[0], out: typed[1] })}`);
        if (read.status === 422) {
          const no = await read.json();
          wrong(no.why, move[no.field]);
          return;
        }
        const answer = await fetch(root.dataset.change, {
          method: "POST",
          headers: { "Content-Type": "application/json", "X-CSRFToken": token(), Accept: "application/json" },
          body: JSON.stringify(sent),
        });
        const done = await answer.json();
        if (done.saved) {
          mine.client = "";
          status.textContent = said("saved");
          const told = new CustomEvent("job:saved", { bubbles: true, cancelable: true, detail: done });
          if (root.dispatchEvent(told)) location.reload();
          return;
        }
        mine.client = "";
        const first = (done.mistakes || [])[0];
        if (first) wrong([first.why || first.what, first.would || first.example || ""].filter(Boolean).join(" "));
        else wrong(said(answer.status === 409 ? "clash" : "failed"));
      } catch {
        wrong(said("failed"));
      }
    });
    const fresh = () => `plan-${crypto.getRandomValues(new Uint32Array(3)).join("-")}`.slice(0, 40);
    function token() {
      const field = document.querySelector('[name="csrfmiddlewaretoken"]');
      return field ? field.value : "";
    }

    switched();
    show();
    if (mine.chosen && facts[mine.chosen]) choice(mine.chosen);
    new ResizeObserver(show).observe(svg);
  }

  function every() {
    for (const root of document.querySelectorAll(".picture")) start(root);
  }
  document.addEventListener("parts:new", every);
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", every);
  else every();
})();
