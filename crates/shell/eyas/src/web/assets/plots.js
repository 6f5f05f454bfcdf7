// Plots of a recording: any channels over the same seconds, moved together. The server sends least and greatest value of
// each pixel for three times the seconds shown; moving shifts what is there, and finer numbers come when it rests.
"use strict";
(() => {
  const root = document.querySelector(".flightplots");
  if (!root || typeof uPlot === "undefined") return;
  const told = (name) => JSON.parse(root.dataset[name]);
  const span = told("span"), channels = told("channels"), phases = told("phases");
  const charts = root.querySelector(".charts"), bar = root.querySelector(".bar");
  const where = root.querySelector("[data-where]"), trouble = root.querySelector("[data-trouble]");
  const timeline = root.querySelector(".timeline"), mark = timeline?.querySelector(".shown");
  const drags = root.querySelector("[data-drags]");
  const LEAST_S = 0.02, HEIGHT = 150, MARGIN = 1;
  let view = told("window"), held = null, plots = [], frame = 0, rest = 0, asking = null, moved = false;

  // Colors are those of the page, which may turn dark while it is open.
  let ink = {};
  const readInk = () => {
    const style = getComputedStyle(document.documentElement);
    for (const name of ["a", "b", "c", "d", "ink", "grid", "line", "paper"]) {
      ink[name] = style.getPropertyValue("--" + name).trim() || "#777";
    }
  };
  readInk();
  const lines = ["a", "b", "c", "d"];

  // Phases that are in view; looked up once a frame.
  let seenFor = null, seenThen = [];
  const seen = () => {
    if (seenFor !== view) [seenFor, seenThen] = [view, phases.filter(([from, to]) => to > view[0] && from < view[1])];
    return seenThen;
  };

  // Many values a pixel are drawn as upright bars: a stroked zigzag costs ten times as much where no graphics card helps.
  const trace = (u, color) => {
    const [xs, lows, highs] = u.data, { ctx, bbox } = u, { x, y } = u.scales;
    if (!xs.length || y.min == null) return;
    const across = bbox.width / (x.max - x.min), up = bbox.height / (y.max - y.min);
    const left = (t) => bbox.left + (t - x.min) * across, top = (v) => bbox.top + (y.max - v) * up;
    let i = Math.max(u.valToIdx(x.min) - 1, 0);
    const end = Math.min(u.valToIdx(x.max) + 1, xs.length - 1), thick = 1.5 * devicePixelRatio;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top - thick, bbox.width, bbox.height + 2 * thick);
    ctx.clip();
    if (end - i > bbox.width / 3) {
      ctx.fillStyle = color;
      let high = NaN, low = NaN, at = 0, begun = false;
      for (; i <= end; i++) {
        if (lows[i] == null) { begun = false; continue; }
        const h = top(highs[i]), l = top(lows[i]), next = Math.round(left(xs[i]));
        // From where the last bar ended, so that the line hangs together.
        const from = begun ? Math.min(h, low) : h, to = begun ? Math.max(l, high) : l;
        const width = begun ? Math.max(next - at, 1) : 1;
        ctx.fillRect(next - width + 1, from - 0.5 * thick, width, to - from + thick);
        [high, low, at, begun] = [h, l, next, true];
      }
    } else {
      ctx.strokeStyle = color;
      ctx.lineWidth = thick;
      ctx.lineJoin = "round";
      ctx.beginPath();
      let begun = false;
      for (; i <= end; i++) {
        if (lows[i] == null) { begun = false; continue; }
        const h = left(xs[i]);
        begun ? ctx.lineTo(h, top(lows[i])) : ctx.moveTo(h, top(lows[i]));
        if (highs[i] > lows[i]) ctx.lineTo(h, top(highs[i]));
        begun = true;
      }
      ctx.stroke();
    }
    ctx.restore();
  };

  const shade = (u, first) => {
    const { ctx, bbox } = u;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    ctx.font = `${12 * devicePixelRatio}px system-ui, sans-serif`;
    ctx.textBaseline = "top";
    ctx.textAlign = "left";
    for (const [from, to, word, color] of seen()) {
      const left = Math.max(u.valToPos(from, "x", true), bbox.left);
      const right = Math.min(u.valToPos(to, "x", true), bbox.left + bbox.width);
      ctx.globalAlpha = 0.13;
      ctx.fillStyle = ink[color];
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      if (first) {
        ctx.globalAlpha = 1;
        ctx.fillStyle = ink.ink;
        if (7.5 * word.length * devicePixelRatio + 8 < right - left) {
          ctx.fillText(word, left + 4 * devicePixelRatio, bbox.top + 3 * devicePixelRatio);
        }
      }
    }
    ctx.restore();
  };

  const four = (v) => v == null ? "–" : Math.abs(v) >= 1000 ? v.toFixed(0) : Math.abs(v) >= 100 ? v.toFixed(1)
    : Math.abs(v) >= 10 ? v.toFixed(2) : v.toFixed(3);

  const between = (low, high) => (high > low && four(low) !== four(high) ? `${four(low)} to ${four(high)}` : four(low));

  const make = ([word, unit, source], i) => {
    const last = i === channels.length - 1;
    const place = document.createElement("div");
    place.className = "chart";
    const head = document.createElement("p");
    head.className = "charthead";
    const name = document.createElement("strong");
    name.textContent = word;
    const value = document.createElement("output");
    head.append(name, ` ${unit} `, value);
    head.title = `from the column ${source}`;
    place.append(head);
    charts.append(place);
    const axis = { stroke: () => ink.ink, grid: { stroke: () => ink.grid, width: 1 }, ticks: { stroke: () => ink.grid, width: 1 }, font: "12px system-ui, sans-serif" };
    const plot = new uPlot({
      width: Math.max(place.clientWidth, 200),
      height: HEIGHT + (last ? 32 : 0),
      legend: { show: false },
      padding: [8, 12, last ? 0 : 8, 0],
      scales: {
        x: { time: false, range: () => view },
        y: { range: (u, low, high) => {
          if (low == null) return [0, 1];
          const room = (high - low) * 0.06 || Math.abs(high) * 0.05 || 1;
          return [low - room, high + room];
        } },
      },
      axes: [{ ...axis, show: last, size: 32, values: (u, ticks) => ticks.map((t) => `${+t.toFixed(3)} s`) }, { ...axis, size: 58, values: (u, ticks) => ticks.map((t) => `${+t.toPrecision(6)}`) }],
      series: [{}, { paths: () => null, points: { show: false } }, { paths: () => null, points: { show: false } }],
      cursor: {
        y: false,
        points: { show: false },
        drag: { x: true, y: false, setScale: false },
        sync: { key: "recording", setSeries: false },
      },
      hooks: {
        drawClear: [(u) => shade(u, i === 0)],
        draw: [(u) => trace(u, ink[lines[i % 4]])],
        setCursor: [(u) => {
          const at = u.cursor.idx;
          value.textContent = at == null || u.cursor.left < 0 ? "" : `${between(u.data[1][at], u.data[2][at])} at ${u.data[0][at].toFixed(2)} s`;
        }],
        setSelect: [(u) => {
          const { left, width } = u.select;
          if (width > 4) show(u.posToVal(left, "x"), u.posToVal(left + width, "x"));
          if (width > 0) u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
        }],
      },
    }, [[view[0], view[1]], [null, null], [null, null]], place);
    touch(plot);
    return plot;
  };

  // One finger, or the mouse with the box ticked or the shift key held, moves; two fingers change the width.
  const touch = (plot) => {
    const fingers = new Map();
    let begin = null;
    const moving = (e) => e.pointerType === "touch" || e.pointerType === "pen" || e.shiftKey || drags?.checked;
    const start = () => {
      const xs = [...fingers.values()];
      begin = { view: [...view], xs, width: plot.over.clientWidth };
    };
    plot.over.addEventListener("mousedown", (e) => {
      if (e.shiftKey || drags?.checked || fingers.size) e.stopImmediatePropagation();
    }, true);
    plot.over.addEventListener("pointerdown", (e) => {
      if (!moving(e)) return;
      fingers.set(e.pointerId, e.clientX);
      plot.over.setPointerCapture(e.pointerId);
      start();
    });
    plot.over.addEventListener("pointermove", (e) => {
      if (!fingers.has(e.pointerId) || !begin) return;
      fingers.set(e.pointerId, e.clientX);
      const xs = [...fingers.values()], [from, to] = begin.view, scale = (to - from) / begin.width;
      if (xs.length === 1) {
        const by = (begin.xs[0] - xs[0]) * scale;
        pan(begin.view, by);
      } else if (begin.xs.length >= 2) {
        const left = plot.over.getBoundingClientRect().left;
        const at = (x) => from + (x - left) * scale;
        const wide = Math.max(Math.abs(xs[1] - xs[0]), 12) / Math.max(Math.abs(begin.xs[1] - begin.xs[0]), 12);
        const middle = at((begin.xs[0] + begin.xs[1]) / 2), width = (to - from) / wide;
        const share = ((xs[0] + xs[1]) / 2 - left) / begin.width;
        show(middle - share * width, middle + (1 - share) * width);
      }
    });
    const end = (e) => { if (fingers.delete(e.pointerId)) fingers.size ? start() : (begin = null); };
    plot.over.addEventListener("pointerup", end);
    plot.over.addEventListener("pointercancel", end);
    plot.over.addEventListener("wheel", (e) => {
      if (e.ctrlKey) {
        e.preventDefault();
        const share = (e.clientX - plot.over.getBoundingClientRect().left) / plot.over.clientWidth;
        zoom(Math.exp(e.deltaY * 0.01), share);
      } else if (Math.abs(e.deltaX) > Math.abs(e.deltaY)) {
        e.preventDefault();
        pan(view, (e.deltaX / plot.over.clientWidth) * (view[1] - view[0]));
      }
    }, { passive: false });
  };

  const pan = (from, by) => {
    const width = from[1] - from[0];
    const left = Math.min(Math.max(from[0] + by, span[0]), span[1] - width);
    show(left, left + width);
  };
  const zoom = (factor, share = 0.5) => {
    const width = view[1] - view[0], at = view[0] + share * width;
    show(at - share * width * factor, at + (1 - share) * width * factor);
  };

  const show = (from, to) => {
    if (!(to > from)) return;
    const width = Math.min(Math.max(to - from, LEAST_S), span[1] - span[0]);
    const middle = (from + to) / 2;
    from = Math.min(Math.max(middle - width / 2, span[0]), span[1] - width);
    view = [from, from + width];
    moved = true;
    if (!frame) frame = requestAnimationFrame(draw);
  };

  const draw = () => {
    frame = 0;
    for (const plot of plots) plot.setScale("x", { min: view[0], max: view[1] });
    tell();
    clearTimeout(rest);
    const gone = !held || view[0] < held.from - 1e-9 || view[1] > held.to + 1e-9;
    // What is not there yet is asked for at once, finer numbers when the hand rests.
    if (gone && !asking) ask();
    else rest = setTimeout(settle, 140);
  };

  const settle = () => {
    if (!held) return;
    const width = view[1] - view[0];
    const near = (view[0] - held.from < 0.4 * width && held.from > span[0]) || (held.to - view[1] < 0.4 * width && held.to < span[1]);
    const ratio = width / held.width;
    if (near || ratio < 0.8 || ratio > 1.25) ask();
    if (!moved) return;
    const at = `from=${view[0].toFixed(2)}&to=${view[1].toFixed(2)}&channels=${channels.map((c) => encodeURIComponent(c[0])).join(",")}`;
    history.replaceState(history.state, "", `${root.dataset.here}?${at}#plots`);
    const numbers = document.querySelector("[data-numbers]");
    if (numbers) numbers.href = `${root.dataset.here}?numbers=1&${at}#numbers`;
    const chooser = document.querySelector("[data-chooser]");
    if (chooser) [chooser.elements.from.value, chooser.elements.to.value] = view.map((t) => t.toFixed(2));
  };

  const tell = () => {
    if (where) where.textContent = `${view[0].toFixed(1)} to ${view[1].toFixed(1)} s`;
    if (!mark) return;
    const share = (t) => (100 * (t - span[0])) / (span[1] - span[0]);
    mark.hidden = false;
    mark.style.left = `${share(view[0])}%`;
    mark.style.width = `${Math.max(share(view[1]) - share(view[0]), 0.3)}%`;
  };

  const ask = async () => {
    asking?.abort();
    const mine = (asking = new AbortController());
    const width = view[1] - view[0];
    const from = Math.max(view[0] - MARGIN * width, span[0]), to = Math.min(view[1] + MARGIN * width, span[1]);
    const across = (plots[0]?.over.clientWidth || charts.clientWidth || 600) * Math.min(devicePixelRatio, 2);
    const pixels = Math.ceil((across * (to - from)) / width);
    const query = new URLSearchParams({ channels: channels.map((c) => c[0]).join(","), from, to, pixels });
    try {
      const answer = await fetch(`${root.dataset.series}?${query}`, { signal: mine.signal });
      if (!answer.ok) throw new Error(`the server answers ${answer.status}`);
      const all = unpack(await answer.arrayBuffer());
      held = { from, to, width };
      all.forEach((data, i) => plots[i].setData(data, false));
      for (const plot of plots) plot.setScale("x", { min: view[0], max: view[1] });
      trouble.textContent = "";
      if (!root.dataset.drawn) root.dataset.drawn = performance.now().toFixed(0);
    } catch (error) {
      if (error.name === "AbortError") return;
      trouble.textContent = `The numbers for these seconds did not come (${error.message}). Is eyas still running? Move a little to ask again.`;
    }
    if (asking === mine) {
      asking = null;
      if (view[0] < held?.from - 1e-9 || view[1] > held?.to + 1e-9) ask();
    }
  };

  // As series.rs packs it: times, least and greatest values, as eight-byte numbers.
  const unpack = (buffer) => {
    const heads = new DataView(buffer);
    const count = heads.getUint32(0, true), all = [];
    let at = 8;
    for (let i = 0; i < count; i++) {
      const entries = heads.getUint32(at, true);
      const numbers = new Float64Array(buffer, at + 8, 3 * entries);
      const xs = new Array(entries), lows = new Array(entries), highs = new Array(entries);
      for (let k = 0; k < entries; k++) {
        const low = numbers[3 * k + 1], high = numbers[3 * k + 2];
        xs[k] = numbers[3 * k];
        lows[k] = low === low ? low : null;
        highs[k] = high === high ? high : null;
      }
      all.push(entries ? [xs, lows, highs] : [[view[0], view[1]], [null, null], [null, null]]);
      at += 8 + 24 * entries;
    }
    return all;
  };

  const acts = {
    back: () => pan(view, -0.25 * (view[1] - view[0])),
    on: () => pan(view, 0.25 * (view[1] - view[0])),
    in: () => zoom(0.6),
    out: () => zoom(1 / 0.6),
    all: () => show(span[0], span[1]),
  };
  root.addEventListener("click", (e) => acts[e.target.closest("[data-moves]")?.dataset.moves]?.());
  charts.addEventListener("keydown", (e) => {
    const width = view[1] - view[0];
    const keys = {
      ArrowLeft: () => pan(view, (e.shiftKey ? -0.5 : -0.08) * width),
      ArrowRight: () => pan(view, (e.shiftKey ? 0.5 : 0.08) * width),
      PageUp: () => pan(view, -width),
      PageDown: () => pan(view, width),
      "+": acts.in, "=": acts.in, "-": acts.out, Home: acts.all, 0: acts.all,
    };
    const act = e.ctrlKey || e.metaKey || e.altKey ? null : keys[e.key];
    if (!act) return;
    e.preventDefault();
    act();
  });
  if (timeline) {
    const go = (e) => {
      const box = timeline.getBoundingClientRect();
      const at = span[0] + ((e.clientX - box.left) / box.width) * (span[1] - span[0]), half = (view[1] - view[0]) / 2;
      pan([at - half, at + half], 0);
    };
    timeline.addEventListener("pointerdown", (e) => { timeline.setPointerCapture(e.pointerId); go(e); });
    timeline.addEventListener("pointermove", (e) => e.buttons && go(e));
  }
  new ResizeObserver(() => {
    const width = charts.clientWidth;
    if (!plots.length || !width || plots[0].width === width) return;
    plots.forEach((plot, i) => plot.setSize({ width, height: HEIGHT + (i === plots.length - 1 ? 32 : 0) }));
    rest = setTimeout(ask, 140);
  }).observe(charts);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    readInk();
    for (const plot of plots) plot.redraw(false);
  });

  bar.hidden = false;
  plots = channels.map(make);
  tell();
  ask();
})();
