// Slab and ground in space: triangles into a buffer of depths, no library. Turned by drag, keys or buttons.
"use strict";
(() => {
  // colour, and a pattern of its own so that a grey copy still tells one from the other
  const LOOKS = {
    slab: [[232, 230, 223], () => 1],
    bank: [[176, 140, 112], (x, y) => ((x * 2 + y) % 5 < 1 ? 0.8 : 1)],
    side: [[138, 143, 140], () => 1],
    there: [[205, 201, 188], (x, y) => ((x + y) % 9 < 1.5 ? 0.8 : 1)],
    ground: [[188, 203, 172], (x, y) => (x % 7 < 1.5 && (y + (Math.floor(x / 7) % 2) * 3) % 6 < 1.5 ? 0.72 : 1)],
    house: [[226, 206, 170], (x) => (x % 6 < 1 ? 0.85 : 1)],
  };
  const OVERLAP = 0.35; // [px] faces reach over their edges, so that no gap shows between neighbours
  const BEHIND = { ground: 0.03 }; // [m] what meets a wall or a slab lies behind it
  const INK = [34, 38, 42];
  const WATER = [31, 84, 112];
  const LIGHT = [-0.35, -0.5, 0.79];
  const VIEWS = { yard: [-0.35, 0.5], left: [-1.45, 0.45], right: [1.45, 0.45], house: [2.85, 0.6], above: [0, 1.55] };
  const clamp = (v, a, b) => Math.min(Math.max(v, a), b);

  function start(root) {
    if (root.dataset.ready) return;
    const scene = JSON.parse(document.getElementById("solid-data").textContent);
    const canvas = root.querySelector("canvas");
    const ctx = canvas.getContext("2d", { willReadFrequently: true });
    const slider = root.querySelector('input[type="range"]');
    const figures = root.querySelector('input[type="checkbox"]');
    const out = root.querySelector("output");
    let [yaw, pitch] = VIEWS.yard;
    let zoom = 1;
    let factor = scene.factor;
    let asked = 0;
    let image = null;
    let depths = null;

    function size() {
      const wide = Math.round(canvas.clientWidth * Math.min(window.devicePixelRatio || 1, 1.5));
      const high = Math.round(wide * (canvas.clientWidth < 600 ? 0.85 : 0.55));
      if (!wide || (image && image.width === wide)) return;
      canvas.width = wide;
      canvas.height = high;
      image = ctx.createImageData(wide, high);
      depths = new Float32Array(wide * high);
    }

    // to the screen: x and y [px], depth [m] away from the eye; at zoom 1 everything fits
    const corners = scene.faces.flatMap((face) => face.p);
    function camera() {
      const [ca, sa, cb, sb] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
      const [mx, my] = scene.middle;
      const seen = ([x, y, z, more]) => {
        const [u, v, w] = [x - mx, y - my, factor * (z - scene.base) + more];
        return [ca * u + sa * v, sa * sb * u - ca * sb * v - cb * w, -sa * cb * u + ca * cb * v - sb * w];
      };
      const all = [Infinity, Infinity, -Infinity, -Infinity];
      for (const corner of corners) {
        const [x, y] = seen(corner);
        if (x < all[0]) all[0] = x;
        if (y < all[1]) all[1] = y;
        if (x > all[2]) all[2] = x;
        if (y > all[3]) all[3] = y;
      }
      const { width, height } = image;
      const k = Math.min((0.92 * width) / (all[2] - all[0]), (0.86 * height) / (all[3] - all[1])) * zoom;
      const [cx, cy] = [(all[0] + all[2]) / 2, (all[1] + all[3]) / 2];
      return (corner) => {
        const [x, y, depth] = seen(corner);
        return [width / 2 + k * (x - cx), height * 0.52 + k * (y - cy), depth];
      };
    }

    function shade(p) {
      const at = ([x, y, z, more]) => [x, y, factor * (z - scene.base) + more];
      const [a, b, c] = p.map(at);
      const [e, f] = [b.map((v, i) => v - a[i]), c.map((v, i) => v - a[i])];
      const n = [e[1] * f[2] - e[2] * f[1], e[2] * f[0] - e[0] * f[2], e[0] * f[1] - e[1] * f[0]];
      const run = Math.hypot(...n) || 1;
      // either side may be seen: the sign of the normal says nothing
      return 0.72 + 0.28 * Math.abs((n[0] * LIGHT[0] + n[1] * LIGHT[1] + n[2] * LIGHT[2]) / run);
    }

    function triangle([ax, ay, az], [bx, by, bz], [cx, cy, cz], [colour, pattern], light, behind) {
      const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
      if (Math.abs(area) < 1e-6) return;
      const over = -OVERLAP / Math.abs(area); // a share of the height above a side, for each pixel of the side
      const [overU, overV, overW] = [
        over * Math.hypot(cx - bx, cy - by),
        over * Math.hypot(ax - cx, ay - cy),
        over * Math.hypot(bx - ax, by - ay),
      ];
      const { width, height, data } = image;
      const x0 = Math.max(0, Math.floor(Math.min(ax, bx, cx)));
      const x1 = Math.min(width - 1, Math.ceil(Math.max(ax, bx, cx)));
      const y0 = Math.max(0, Math.floor(Math.min(ay, by, cy)));
      const y1 = Math.min(height - 1, Math.ceil(Math.max(ay, by, cy)));
      for (let y = y0; y <= y1; y++) {
        for (let x = x0; x <= x1; x++) {
          const [px, py] = [x + 0.5, y + 0.5];
          const u = ((bx - px) * (cy - py) - (by - py) * (cx - px)) / area;
          const v = ((cx - px) * (ay - py) - (cy - py) * (ax - px)) / area;
          const w = 1 - u - v;
          if (u < overU || v < overV || w < overW) continue;
          const [ku, kv, kw] = [Math.max(u, 0), Math.max(v, 0), Math.max(w, 0)];
          const depth = (ku * az + kv * bz + kw * cz) / (ku + kv + kw) + behind;
          const i = y * width + x;
          if (depth >= depths[i]) continue;
          depths[i] = depth;
          const l = light * pattern(x, y);
          data[4 * i] = colour[0] * l;
          data[4 * i + 1] = colour[1] * l;
          data[4 * i + 2] = colour[2] * l;
        }
      }
    }

    function stroke([ax, ay, az], [bx, by, bz], colour, thick, near) {
      const steps = Math.ceil(Math.max(Math.abs(bx - ax), Math.abs(by - ay), 1));
      const { width, height, data } = image;
      const half = Math.floor(thick / 2);
      for (let n = 0; n <= steps; n++) {
        const t = n / steps;
        const depth = az + (bz - az) * t - near;
        for (let dy = -half; dy < thick - half; dy++) {
          for (let dx = -half; dx < thick - half; dx++) {
            const x = Math.round(ax + (bx - ax) * t) + dx;
            const y = Math.round(ay + (by - ay) * t) + dy;
            if (x < 0 || y < 0 || x >= width || y >= height) continue;
            const i = y * width + x;
            if (depth > depths[i]) continue;
            data.set(colour, 4 * i);
          }
        }
      }
    }

    function arrow(p, to, dpr) {
      const [a, b] = p.map(to);
      const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
      if (run < 3) return;
      const [ux, uy] = [(b[0] - a[0]) / run, (b[1] - a[1]) / run];
      const head = Math.min(7 * dpr, run * 0.6);
      const thick = dpr > 1 ? 3 : 2;
      stroke(a, b, WATER, thick, 0.25);
      for (const side of [1, -1]) {
        const end = [b[0] - head * (ux + side * 0.5 * uy), b[1] - head * (uy - side * 0.5 * ux), b[2]];
        stroke(b, end, WATER, thick, 0.3);
      }
    }

    function words(to, dpr) {
      const size = 13 * dpr;
      ctx.font = `600 ${size}px "Sheet Sans", system-ui, sans-serif`;
      ctx.textAlign = "center";
      ctx.lineJoin = "round";
      const taken = [];
      for (const mark of scene.marks) {
        const [x, y, depth] = to(mark.p);
        const i = Math.round(y) * image.width + Math.round(x);
        if (x < 0 || y < 0 || x >= image.width || y >= image.height || depth > depths[i] + 0.35) continue;
        const wide = ctx.measureText(mark.text).width / 2 + 3;
        const put = [x - wide, y - 2.1 * size, x + wide, y - 0.8 * size];
        if (taken.some((o) => put[0] < o[2] && put[2] > o[0] && put[1] < o[3] && put[3] > o[1])) continue;
        taken.push(put);
        ctx.fillStyle = "#22262a";
        ctx.beginPath();
        ctx.moveTo(x, y);
        ctx.lineTo(x, y - 0.8 * size);
        ctx.stroke();
        ctx.lineWidth = 4 * dpr;
        ctx.strokeStyle = "#ffffff";
        ctx.strokeText(mark.text, x, y - size);
        ctx.fillText(mark.text, x, y - size);
        ctx.lineWidth = dpr;
        ctx.strokeStyle = "#22262a";
      }
    }

    function draw() {
      asked = 0;
      size();
      if (!image) return;
      const dpr = image.width / canvas.clientWidth;
      image.data.fill(255);
      depths.fill(Infinity);
      const to = camera();
      for (const face of scene.faces) {
        triangle(...face.p.map(to), LOOKS[face.of], shade(face.p), BEHIND[face.of] || 0);
      }
      for (const line of scene.lines) {
        const thick = line.of === "joint" ? 1 : Math.round(1.4 * dpr);
        for (let n = 1; n < line.p.length; n++) stroke(to(line.p[n - 1]), to(line.p[n]), INK, thick, 0.04);
      }
      for (const one of scene.arrows) arrow(one.p, to, dpr);
      ctx.putImageData(image, 0, 0);
      if (figures.checked) words(to, dpr);
      const said = factor === 1 ? root.dataset.wordTrue : root.dataset.wordTimes.replace("{n}", factor);
      if (out.value !== said) out.value = said;
      root.dataset.view = [yaw, pitch, zoom, factor].map((v) => v.toFixed(3)).join(" ");
    }
    const again = () => {
      if (!asked) asked = requestAnimationFrame(draw);
    };
    function turn(dyaw, dpitch) {
      yaw += dyaw;
      pitch = clamp(pitch + dpitch, 0.08, 1.55);
      again();
    }
    function closer(times) {
      zoom = clamp(zoom * times, 0.6, 8);
      again();
    }

    slider.addEventListener("input", () => {
      factor = scene.factors[Number(slider.value)];
      again();
    });
    figures.addEventListener("change", again);
    root.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button) return;
      if (button.dataset.from) [yaw, pitch] = VIEWS[button.dataset.from];
      if (button.dataset.do) zoom = clamp(zoom * (button.dataset.do === "in" ? 1.3 : 1 / 1.3), 0.6, 8);
      again();
    });
    canvas.addEventListener("keydown", (event) => {
      const step = 0.12;
      const does = {
        ArrowLeft: () => turn(-step, 0),
        ArrowRight: () => turn(step, 0),
        ArrowUp: () => turn(0, step),
        ArrowDown: () => turn(0, -step),
        "+": () => closer(1.3),
        "=": () => closer(1.3),
        "-": () => closer(1 / 1.3),
        0: () => (([yaw, pitch] = VIEWS.yard), (zoom = 1), again()),
      }[event.key];
      if (!does || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      does();
    });
    const down = new Map();
    canvas.addEventListener("pointerdown", (event) => {
      down.set(event.pointerId, event);
      canvas.setPointerCapture(event.pointerId);
    });
    const spread = () => {
      const [a, b] = [...down.values()];
      return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1;
    };
    canvas.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (!before) return;
      const old = down.size === 2 ? spread() : 0;
      down.set(event.pointerId, event);
      if (down.size === 2) return closer(spread() / old);
      turn((before.clientX - event.clientX) / 150, (event.clientY - before.clientY) / 200);
    });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (e) => down.delete(e.pointerId));
    canvas.addEventListener(
      "wheel",
      (event) => {
        if (!event.ctrlKey) return;
        event.preventDefault();
        closer(Math.exp(-event.deltaY / 200));
      },
      { passive: false },
    );

    slider.max = scene.factors.length - 1;
    slider.value = scene.factors.indexOf(factor);
    new ResizeObserver(() => ((image = null), again())).observe(canvas);
    if (document.fonts) document.fonts.load('600 13px "Sheet Sans"').then(again, again);
    root.dataset.ready = "yes";
    again();
  }
  for (const root of document.querySelectorAll(".solid")) start(root);
})();
