// Where the words of the plan's picture have room: off each other, and off the lines that are drawn.
"use strict";
(() => {
  // Straight pieces [x0, y0, x1, y1] of a path of M, L and Z; of a curve, the straight way to its end.
  function segments(path) {
    const out = [];
    for (const run of path.split("M").slice(1)) {
      const shut = run.trimEnd().endsWith("Z");
      const points = run.split(/[A-Z]/).map((part) => (part.match(/-?[\d.]+/g) || []).map(Number)).filter((n) => n.length > 1)
        .map((n) => n.slice(-2));
      points.forEach((p, n) => { if (n) out.push([...points[n - 1], ...p]); });
      if (shut && points.length > 2) out.push([...points[points.length - 1], ...points[0]]);
    }
    return out;
  }
  const over = (a, b) => a[0] < b[2] && a[2] > b[0] && a[1] < b[3] && a[3] > b[1];
  function crosses([l, t, r, b], [x0, y0, x1, y1]) {
    if (Math.max(x0, x1) <= l || Math.min(x0, x1) >= r || Math.max(y0, y1) <= t || Math.min(y0, y1) >= b) return false;
    const side = (x, y) => Math.sign((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0));
    const sides = [side(l, t), side(r, t), side(r, b), side(l, b)];
    return Math.max(...sides) > 0 && Math.min(...sides) < 0;
  }

  const meets = (a, b) => {
    const side = ([x0, y0, x1, y1], x, y) => Math.sign((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0));
    return side(a, b[0], b[1]) * side(a, b[2], b[3]) < 0 && side(b, a[0], a[1]) * side(b, a[2], a[3]) < 0;
  };

  // How far a word moves [mm] to lie on no line and no other word: not at all where it is free, else a step
  // to any side, or over to the other side of what it names; the least bad where nothing is free.
  const STEPS = [0.35, 0.7, 1.05];
  const WAYS = [[0, -1], [0, 1], [-1, 0], [1, 0], [-0.7, -0.7], [0.7, -0.7], [-0.7, 0.7], [0.7, 0.7]];
  function clear(put, { at, part }, taken, lines, view) {
    const near = lines.filter((one) => crosses(grown(put), one.s));
    if (!near.length && !taken.some((o) => over(put, o))) return [0, 0];
    const size = Math.min(put[2] - put[0], put[3] - put[1]);
    const middle = [(put[0] + put[2]) / 2, (put[1] + put[3]) / 2];
    const across = [2 * (at[0] - middle[0]), 2 * (at[1] - middle[1])];
    const long = [put[2] - put[0], put[3] - put[1]].map((one) => (one > 1.5 * size ? one : 0)); // along the word
    const moves = [[0, 0], across];
    // over a line it would name what lies behind that line
    const behind = (x, y) => near.filter((one) => meets([...at, middle[0] + x, middle[1] + y], one.s)).length;
    for (const far of STEPS) for (const [x, y] of WAYS) {
      // a figure that slid along its line would seem to be another's; a name may go farther
      const slid = (x && long[0]) || (y && long[1]);
      if (part === "base" || far === STEPS[0] || !slid) moves.push([x * far * size, y * far * size]);
    }
    if (part === "base") for (const some of [-1, -0.5, 0.5, 1]) moves.push([long[0] * some, long[1] * some]);
    let best = [0, 0];
    let least = Infinity;
    for (const [x, y] of moves) {
      const box = [put[0] + x, put[1] + y, put[2] + x, put[3] + y];
      if (box[0] < view[0] || box[1] < view[1] || box[2] > view[2] || box[3] > view[3]) continue;
      if (taken.some((o) => over(x || y ? airy(box) : box, o))) continue;
      if (behind(x, y) > behind(0, 0)) continue;
      const cost = 3 * near.filter((one) => crosses(box, one.s)).length + Math.hypot(x, y) / size / 2;
      if (cost < least) { least = cost; best = [x, y]; }
    }
    return best;
  }
  // What may be reached from here.
  function grown([l, t, r, b]) {
    const w = r - l;
    const h = b - t;
    return [l - w - h, t - h - w, r + w + h, b + h + w];
  }
  // A word that moved in leaves the others their air.
  function airy([l, t, r, b]) {
    const off = Math.min(r - l, b - t) * 0.4;
    return [l - off, t - off, r + off, b + off];
  }

  window.slabWords = { segments, over, clear, airy };
})();
