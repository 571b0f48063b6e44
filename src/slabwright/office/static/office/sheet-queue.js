// Changes on their way to the office: kept on this phone until the office says that it has them.
(() => {
  "use strict";
  const job = document.getElementById("job");
  if (!job) return;
  const name = `slabwright:${job.dataset.person}:${job.dataset.code}`;
  const AGAIN = 20000; // [ms] between tries while the signal is away
  let memory = []; // where the phone keeps nothing
  let sending = false;
  let timer = 0;

  const load = () => {
    try { return JSON.parse(localStorage.getItem(name) || "[]"); } catch { return memory; }
  };
  const store = (list) => {
    memory = list;
    try {
      if (list.length) localStorage.setItem(name, JSON.stringify(list));
      else localStorage.removeItem(name);
    } catch { /* the list in memory holds while the page is open */ }
    tell("queue", { list });
  };
  const tell = (what, detail) => job.dispatchEvent(new CustomEvent(`sheet:${what}`, { detail }));
  const cookie = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1]
    || (document.querySelector("[name=csrfmiddlewaretoken]") || {}).value || "";
  const number = () => Number(job.dataset.number);
  const random = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(15));
    return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
  };
  const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

  // One more change. A field that still waits to be sent takes the newer value in place of the older one.
  function add(edits) {
    const list = load();
    const last = edits.length === 1 && edits[0].kind !== "append"
      ? list.find((one) => !one.tried && !one.refused && one.edits.length === 1 && one.edits[0].kind !== "append"
          && same(one.edits[0].path, edits[0].path))
      : null;
    if (last) {
      last.edits[0] = { ...edits[0], seen: last.edits[0].seen };
      last.client = random();
    } else {
      list.push({ client: random(), base: number(), edits, at: Date.now() });
    }
    store(list);
    send();
  }

  function drop(client) {
    store(load().filter((one) => one.client !== client));
    send();
  }

  function later() {
    clearTimeout(timer);
    timer = setTimeout(send, AGAIN);
  }

  // Send what waits, in order. A change that was refused stays, and those behind it go on.
  async function send() {
    if (sending) return;
    sending = true;
    try {
      for (;;) {
        const one = load().find((item) => !item.refused);
        if (!one) break;
        mark(one.client, { tried: true });
        if (!(await post(one))) { later(); break; }
      }
    } finally {
      sending = false;
      tell("queue", { list: load() });
    }
  }

  function mark(client, more) {
    store(load().map((one) => (one.client === client ? { ...one, ...more } : one)));
  }

  // A later change of the same field began from the one before it.
  function seen(item, kept) {
    const edits = item.edits.map((edit) => {
      const before = kept.find((one) => same(one.path, edit.path));
      return before && edit.kind !== "append" ? { ...edit, seen: before.seen } : edit;
    });
    return { ...item, edits };
  }

  // Where one was refused and a later one writes the same field, the later one asks in its place.
  function handedOn(one) {
    const [edit] = one.edits;
    if (one.edits.length !== 1 || edit.kind === "append") return false;
    const list = load();
    const next = list.find((item) => item.client !== one.client && !item.refused && item.edits.length === 1
      && item.edits[0].kind !== "append" && same(item.edits[0].path, edit.path));
    if (!next) return false;
    store(list.filter((item) => item.client !== one.client)
      .map((item) => (item.client === next.client ? seen(item, [{ path: edit.path, seen: edit.seen }]) : item)));
    return true;
  }

  async function post(one) {
    let answer;
    let data;
    const clock = new AbortController();
    const stop = setTimeout(() => clock.abort(), 30000);
    try {
      answer = await fetch(job.dataset.change, {
        method: "POST", credentials: "same-origin", signal: clock.signal, redirect: "manual",
        headers: { "Content-Type": "application/json", "X-CSRFToken": cookie(), "X-Part": "true" },
        body: JSON.stringify({ edits: one.edits, base: one.base, client: one.client }),
      });
      data = (answer.headers.get("Content-Type") || "").includes("json") ? await answer.json() : {};
    } catch {
      tell("away", {});
      return false;
    } finally {
      clearTimeout(stop);
    }
    if (answer.ok && data.saved) {
      store(load().filter((item) => item.client !== one.client).map((item) => seen(item, data.kept || [])));
      tell("saved", { one, data });
      return true;
    }
    if (answer.status === 401 || answer.status === 403 || answer.type === "opaqueredirect") {
      tell("out", { status: answer.status });
      return false;
    }
    if (answer.status === 409 || answer.status === 422) {
      if (handedOn(one)) return true;
      mark(one.client, { refused: data });
      tell("refused", { one, data });
      return true;
    }
    if (answer.status >= 500 || answer.status === 429 || answer.status === 408) {
      tell("away", {});
      return false;
    }
    mark(one.client, { refused: { bad: data.what || String(answer.status) } });
    tell("refused", { one, data: { bad: data.what || String(answer.status) } });
    return true;
  }

  window.slabSheet = { add, drop, send, list: load, number, tell };
  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
})();
