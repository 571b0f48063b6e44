// The long sheet: reads what is typed, saves a field when it is left, puts the new plan beside it.
(() => {
  "use strict";
  const job = document.getElementById("job");
  if (!job || !window.slabSheet) return;
  const queue = window.slabSheet;
  const say = job.dataset;
  const PAUSE = 250; // [ms] after the last letter
  const LOOK = 15000; // [ms] between looks for what others did
  document.documentElement.classList.add("script");

  const make = (tag, text, className) => {
    const one = document.createElement(tag);
    if (text) one.textContent = text;
    if (className) one.className = className;
    return one;
  };
  const dotted = (path) => path.map((part) => (typeof part === "number" ? part + 1 : part)).join(".");
  const pathOf = (control) => JSON.parse(control.name.slice(2));
  const seenOf = (control) => control.parentElement.querySelector("input[type=hidden]");
  const isField = (control) => control && control.name && control.name.startsWith("v:");
  const isNew = (control) => control && control.name && control.name.startsWith("n:");
  const fieldAt = (path) => document.getElementsByName(`v:${spaced(path)}`)[0]
    || [...document.querySelectorAll("[name^='v:']")].find((one) => dotted(pathOf(one)) === dotted(path));
  const spaced = (path) => `[${path.map((part) => JSON.stringify(part)).join(", ")}]`;
  const was = (control) => (control.dataset.was !== undefined ? control.dataset.was
    : control.tagName === "SELECT" ? ([...control.options].find((o) => o.defaultSelected) || { value: "" }).value
      : control.defaultValue);

  // --- what is wrong, what was read --------------------------------------------------------------------
  function wrong(control, why, example) {
    const place = document.getElementById(`${control.id}-w`);
    if (!place) return;
    place.hidden = !why;
    place.textContent = why ? (example ? `${why}. ${say.wordWrite} ${example}` : why) : "";
    if (why) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
  }

  function readAs(control, text) {
    const place = document.getElementById(`${control.id}-r`);
    if (place) place.textContent = text || "";
  }

  const pauses = new WeakMap();
  function reading(control) {
    clearTimeout(pauses.get(control));
    pauses.set(control, setTimeout(() => ask(control), PAUSE));
  }

  async function ask(control) {
    const text = control.value;
    if (!text.trim() || control.tagName === "SELECT") { readAs(control, ""); wrong(control, ""); return; }
    const path = isNew(control) ? newPath(control) : pathOf(control);
    const query = new URLSearchParams({ path: JSON.stringify(path), text, units: say.units });
    try {
      const answer = await fetch(`${say.read}?${query}`, { credentials: "same-origin" });
      if (!answer.ok || !(answer.headers.get("Content-Type") || "").includes("json")) return;
      const data = await answer.json();
      if (control.value !== text) return; // typed on meanwhile
      readAs(control, data.read);
      wrong(control, data.why, data.example);
    } catch {
      readAs(control, ""); // no signal: it is read when it is sent
    }
  }

  const newPath = (control) => pathOf(control).filter((part) => part !== "+name")
    .map((part) => (part === "+" ? 0 : part === "+value" ? "*" : part));

  // --- saving ------------------------------------------------------------------------------------------
  function leave(control) {
    if (!isField(control) || control.value.trim() === was(control).trim()) return;
    const path = pathOf(control);
    const hidden = seenOf(control);
    const edit = { kind: "set", path, value: control.value, seen: JSON.parse(hidden.value) };
    control.dataset.was = control.value;
    keptField(control, true);
    queue.add([edit]);
  }

  function take(button) {
    const path = JSON.parse(button.value);
    const row = button.closest("[data-row]");
    if (row) row.classList.add("leaving");
    button.disabled = true;
    queue.add([{ kind: "delete", path }]);
  }

  function adding(button) {
    const box = button.closest(".adding");
    const at = JSON.parse(box.dataset.at);
    const controls = [...box.querySelectorAll("[name^='n:']")];
    const given = {};
    for (const control of controls) given[pathOf(control).slice(-1)[0]] = control.value;
    const missing = controls.find((control) => control.required && !control.value.trim());
    if (missing) { missing.focus(); wrong(missing, box.dataset.needed || missing.validationMessage, ""); return; }
    if ("+name" in given) {
      const name = given["+name"].trim().split(/\s+/).join(" ");
      queue.add([{ kind: "set", path: [...at, name], value: given["+value"], seen: null }]);
    } else {
      queue.add([{ kind: "append", path: at, value: "+value" in given ? given["+value"] : given }]);
    }
    box.classList.add("kept");
    button.setAttribute("aria-disabled", "true");
  }

  function keptField(control, on) {
    const field = control.closest(".field");
    if (!field) return;
    field.classList.toggle("kept", on);
    const note = field.querySelector(".kept-note");
    if (!on && note) note.remove();
  }

  // --- what comes back ---------------------------------------------------------------------------------
  // Put new parts in, and leave the person where they were: the same field, the same letters, folds as they are.
  function put(parts) {
    const held = document.activeElement && document.activeElement.id;
    const spot = document.activeElement && "selectionStart" in document.activeElement
      ? [document.activeElement.selectionStart, document.activeElement.selectionEnd] : null;
    for (const [id, html] of Object.entries(parts || {})) {
      const place = document.getElementById(id);
      if (!place) continue;
      const typed = [...place.querySelectorAll("[name^='v:'], [name^='n:']")]
        .filter((one) => one.id && one.value !== was(one) && !one.closest(".adding.kept"))
        .map((one) => [one.id, one.value]);
      const folds = new Map([...place.querySelectorAll("details")].map((one) => [foldName(one), one.open]));
      place.innerHTML = html;
      for (const [field, value] of typed) {
        const control = document.getElementById(field);
        if (control) control.value = value;
      }
      for (const fold of place.querySelectorAll("details")) {
        if (folds.has(foldName(fold))) fold.open = folds.get(foldName(fold)) || (fold.open && "wrong" in fold.dataset);
      }
    }
    document.dispatchEvent(new Event("parts:new")); // the picture begins anew
    if (held && document.activeElement.id !== held) {
      const control = document.getElementById(held);
      if (control) {
        control.focus({ preventScroll: true });
        if (spot && control.setSelectionRange) try { control.setSelectionRange(...spot); } catch { /* not a text */ }
      }
    }
    queue.tell("shown", {});
  }

  const foldName = (fold) => {
    const near = fold.closest("[data-row], .group, [id]");
    const said = fold.querySelector("summary") || fold;
    const head = said.querySelector("h3, h4") || said.firstChild || said; // counts and values beside it change
    return `${near ? near.dataset.row || near.id : ""}|${head.textContent.trim().slice(0, 40)}`;
  };

  job.addEventListener("sheet:saved", ({ detail: { one, data } }) => {
    job.dataset.number = data.number;
    for (const form of document.querySelectorAll("input[name=base]")) form.value = data.number;
    put(data.parts); // a row that was added does not stand in its empty fields again
    for (const gone of document.querySelectorAll(".adding.kept")) gone.classList.remove("kept");
    for (const field of data.fields || []) {
      const control = document.getElementById(field.id);
      if (!control || waiting(pathOf(control))) continue;
      const untouched = control.value === was(control) || control.value.trim() === was(control).trim();
      control.dataset.was = field.value;
      if (untouched) control.value = field.value;
      const hidden = seenOf(control);
      if (hidden) hidden.value = field.seen;
      readAs(control, field.read ? field.read : "");
      wrong(control, "");
      keptField(control, false);
      const tag = control.closest(".record");
      const example = tag && tag.querySelector(":scope > .row-end .example");
      if (example) example.remove();
    }
    stillWrong(data);
    document.getElementById("said").textContent = data.said;
    news(null);
  });

  // What is wrong with the notes as they are now, beside its fields and counted beside its headings.
  function stillWrong(data) {
    const found = new Map((data.wrong || []).map((field) => [field.id, field]));
    for (const control of document.querySelectorAll("#sections [name^='v:'][aria-invalid]")) {
      if (!found.has(control.id) && control.value === was(control) && !waiting(pathOf(control))) wrong(control, "");
    }
    for (const field of found.values()) {
      const control = document.getElementById(field.id);
      if (control) wrong(control, field.why, field.example);
    }
    for (const place of document.querySelectorAll("#sections .wrong-count")) {
      const text = (data.counts || {})[place.id] || "";
      place.textContent = text;
      place.hidden = !text;
      const fold = place.closest("details.group-fold");
      if (fold) fold.toggleAttribute("data-wrong", Boolean(text));
    }
  }

  // A corner was dragged on the picture.
  job.addEventListener("job:saved", (event) => {
    event.preventDefault();
    queue.tell("saved", { one: null, data: event.detail });
  });

  const waiting = (path) => queue.list().some((one) => !one.refused && one.edits.some((e) => dotted(e.path) === dotted(path)));

  job.addEventListener("sheet:refused", ({ detail: { one, data } }) => refused(one, data));

  function refused(one, data) {
    for (const clash of data.clashes || []) question(one, clash);
    for (const mistake of data.mistakes || []) {
      const control = at(one, mistake.field);
      if (!control) { loose(one, (mistake.name ? `${mistake.name}: ` : "") + mistake.why + (mistake.example ? `. ${say.wordWrite} ${mistake.example}` : "")); continue; }
      const edit = one.edits[0];
      if (isField(control)) control.value = edit.value ?? control.value;
      keptField(control, false);
      wrong(control, mistake.why, mistake.example);
      control.dataset.was = ""; // so that leaving it sends it again
      if (isField(control) && edit.seen !== undefined) seenOf(control).value = JSON.stringify(edit.seen);
      quietly(one.client);
    }
    if ((data.mistakes || []).length) resetAdding();
    for (const gone of data.gone || []) loose(one, gone.ask);
    if (data.bad) loose(one, `${say.wordRefused} ${data.bad}`);
    if (data.error && data.what) loose(one, data.what);
  }

  // The field stays as it was typed and is sent again when it is mended, so the refused change may go.
  const quietly = (client) => queue.drop(client);

  function resetAdding() {
    for (const box of document.querySelectorAll(".adding.kept")) {
      box.classList.remove("kept");
      box.querySelector(".go").removeAttribute("aria-disabled");
    }
  }

  function at(one, field) {
    const controls = [...document.querySelectorAll("[name^='v:'], [name^='n:']")];
    const direct = controls.find((control) => dotted(pathOf(control)) === field);
    if (direct) return direct;
    const edit = one.edits[0];
    if (edit.kind !== "append") return fieldAt(edit.path);
    const key = field.split(".").pop(); // of the record that was to be added: its own field, else its first
    const mine = controls.filter((control) => isNew(control) && dotted(pathOf(control)).startsWith(`${dotted(edit.path)}.+`));
    return mine.find((control) => String(pathOf(control).slice(-1)[0]) === key) || mine[0];
  }

  function question(one, clash) {
    const control = fieldAt(clash.path);
    const box = make("div", "", "clash");
    box.setAttribute("role", "alert");
    box.dataset.client = one.client;
    box.append(make("p", clash.title, "level"), make("p", clash.ask));
    const row = make("div", "", "row");
    const theirs = make("button", clash.theirs);
    const mine = make("button", clash.mine, "go");
    theirs.type = mine.type = "button";
    theirs.addEventListener("click", () => { box.remove(); keep(clash, one); });
    mine.addEventListener("click", () => {
      box.remove();
      queue.drop(one.client);
      const edit = one.edits.find((e) => dotted(e.path) === dotted(clash.path)) || one.edits[0];
      queue.add([{ ...edit, seen: clash.now }]);
    });
    row.append(theirs, mine);
    box.append(row);
    const place = control && control.closest(".field");
    if (place) { keptField(control, false); place.after(box); } else document.getElementById("kept").after(box);
    theirs.focus();
  }

  function keep(clash, one) {
    queue.drop(one.client);
    location.reload();
  }

  function loose(one, text) {
    const box = make("div", "", "clash");
    box.setAttribute("role", "alert");
    box.append(make("p", text));
    const drop = make("button", say.wordDrop);
    drop.type = "button";
    drop.addEventListener("click", () => { box.remove(); queue.drop(one.client); location.reload(); });
    box.append(drop);
    document.getElementById("kept").after(box);
  }

  // --- no signal ---------------------------------------------------------------------------------------
  const kept = document.getElementById("kept");
  function bar(text) {
    kept.replaceChildren(make("p", text));
    const now = make("button", say.wordSend);
    now.type = "button";
    now.addEventListener("click", () => queue.send());
    kept.append(now);
    kept.hidden = false;
  }

  function shown(list) {
    const waits = list.filter((one) => !one.refused);
    for (const one of waits) for (const edit of one.edits) {
      const control = edit.kind === "set" && fieldAt(edit.path);
      if (!control) continue;
      keptField(control, true);
      const field = control.closest(".field");
      if (!field.querySelector(".kept-note")) field.append(make("span", say.wordKept, "kept-note"));
    }
    return waits.length;
  }

  function away(text) {
    const n = shown(queue.list());
    if (n) bar(text || (n === 1 ? say.wordKeptOne : say.wordKeptMany.replace("{n}", n)));
  }
  job.addEventListener("sheet:away", () => away());
  job.addEventListener("sheet:out", () => away(say.wordSignedOut));
  job.addEventListener("sheet:queue", ({ detail: { list } }) => {
    if (!list.some((one) => !one.refused)) kept.hidden = true;
  });

  // What a page before this one could not send stands in its fields again.
  function restore() {
    for (const one of queue.list()) {
      for (const edit of one.edits) {
        const control = edit.kind === "set" && typeof edit.value === "string" && fieldAt(edit.path);
        if (control) { control.value = edit.value; control.dataset.was = edit.value; }
      }
      if (one.refused) refused(one, one.refused);
    }
    if (queue.list().length) { away(); queue.send(); }
  }

  // --- what others did ---------------------------------------------------------------------------------
  const place = document.getElementById("news");
  function news(data) {
    place.hidden = !data;
    if (!data) return;
    place.replaceChildren(make("p", data.told.join(" ")));
    const show = make("button", say.wordShow);
    show.type = "button";
    show.addEventListener("click", () => location.reload());
    place.append(show);
  }

  async function look() {
    if (document.hidden || !navigator.onLine) return;
    try {
      const answer = await fetch(say.since.replace(/0\/$/, `${queue.number()}/`), { credentials: "same-origin" });
      if (answer.status !== 200) return;
      const data = await answer.json();
      if (data.number > queue.number()) news(data);
    } catch { /* next time */ }
  }
  setInterval(look, LOOK);

  // --- hands -------------------------------------------------------------------------------------------
  job.addEventListener("input", ({ target }) => { if (isField(target) || isNew(target)) reading(target); });
  // A calendar's field changes with each figure of the year that is typed: it is saved once it is a year of today.
  const half = (control) => control.type === "date" && control.value && control.value < "2000";
  job.addEventListener("change", ({ target }) => { if (!half(target)) leave(target); });
  job.addEventListener("focusin", ({ target }) => hint(target));
  job.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || !button.closest(".group-form")) return;
    if (button.name === "take") { event.preventDefault(); take(button); }
    if (button.name === "add") { event.preventDefault(); if (button.getAttribute("aria-disabled") !== "true") adding(button); }
  });
  job.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT" || !event.target.closest(".group-form")) return;
    event.preventDefault();
    const box = event.target.closest(".adding");
    if (box) { box.querySelector("button[name=add]").click(); return; }
    leave(event.target);
  });
  job.addEventListener("submit", (event) => { if (event.target.classList.contains("group-form")) event.preventDefault(); });

  // Rows stand close together: what a column means is said under the field that is written in.
  function hint(control) {
    for (const old of document.querySelectorAll(".hint.lent")) old.remove();
    const field = control.closest && control.closest(".tight .field");
    if (!field || !control.name) return;
    const id = (control.getAttribute("aria-describedby") || "").split(" ").pop();
    const from = document.getElementById(id);
    if (from) { const one = make("span", from.textContent, "hint lent"); one.setAttribute("aria-hidden", "true"); field.append(one); }
  }

  // On a phone the plan folds away until it is asked for; sheet-thumb.js folds the rest.
  if (window.matchMedia("(max-width: 61.99rem)").matches) {
    const fold = document.querySelector(".side > details.fold");
    if (fold && !fold.querySelector(".no-plan")) fold.open = false;
  }

  // A phone that is put away, or a page that is left, takes along what stands in a field that was not left yet.
  const putAway = () => { if (isField(document.activeElement)) leave(document.activeElement); };
  window.addEventListener("pagehide", putAway);
  document.addEventListener("visibilitychange", () => { if (document.hidden) putAway(); });

  window.slabSheet.put = put;
  restore();
})();
