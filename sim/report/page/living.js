"use strict";
// Flights weighted by how well they fit today's readings; sim/analysis/reweight.py is the twin.
(function () {
  const source = document.getElementById("today-data");
  if (!source) return;
  const data = JSON.parse(source.textContent);
  const form = document.getElementById("today-form");
  const answer = document.getElementById("today-answer");

  function bytes(text) {
    return Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  }
  function unpack(packed) {
    const raw = bytes(packed.text);
    const values = new Float64Array(raw.length / 2);
    for (let i = 0; i < values.length; i++) {
      values[i] = packed.low + ((packed.high - packed.low) * (raw[2 * i] + 256 * raw[2 * i + 1])) / 65535;
    }
    return values;
  }
  const flags = bytes(data.flags);
  const east = unpack(data.east), north = unpack(data.north), speed = unpack(data.speed);
  const miss = east.map((x, i) => (flags[i] & 4 ? Math.hypot(x, north[i]) : Infinity));
  for (let i = 0; i < speed.length; i++) if (!(flags[i] & 4)) speed[i] = Infinity;
  const inputs = data.inputs.map((one) => ({ ...one, drawn: unpack(one.values) }));
  const ignition = data.ignition ? unpack(data.ignition) : null;
  const rising = (values) => Array.from(values.keys()).sort((a, b) => values[a] - values[b] || a - b);
  const ignitionOrder = ignition ? rising(ignition) : null;
  const missOrder = rising(miss), speedOrder = rising(speed);

  function logDensity(one, x) {
    const p = one.parameters;
    if (one.kind === "half_normal") return -0.5 * (x / p[0]) ** 2;
    if (one.kind === "lognormal") return -0.5 * (Math.log(x / p[0]) / p[1]) ** 2 - Math.log(x);
    if (one.kind === "uniform") return 0;
    if (one.kind === "triangular") {
      const tiny = 1e-9, [low, mode, high] = p;
      const rising = (x - low) / Math.max(mode - low, tiny);
      const falling = (high - x) / Math.max(high - mode, tiny);
      return Math.log(Math.max(Math.min(rising, falling), tiny));
    }
    return -0.5 * ((x - p[0]) / p[1]) ** 2;
  }
  function score(one, x) {
    const p = one.parameters;
    return one.kind === "lognormal" ? Math.log(x / p[0]) / p[1] : (x - p[0]) / p[1];
  }
  function inverse(matrix) {
    const n = matrix.length;
    const rows = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
    for (let i = 0; i < n; i++) {
      const pivot = rows[i][i];
      for (let j = 0; j < 2 * n; j++) rows[i][j] /= pivot;
      for (let k = 0; k < n; k++) {
        if (k === i) continue;
        const share = rows[k][i];
        for (let j = 0; j < 2 * n; j++) rows[k][j] -= share * rows[i][j];
      }
    }
    return rows.map((row) => row.slice(n));
  }
  function weigh(readings) {
    const total = new Float64Array(data.flights);
    for (const { place, value, spread } of readings) {
      const one = inputs[place];
      for (let i = 0; i < total.length; i++) {
        const x = one.drawn[i];
        total[i] += -0.5 * ((x - value) / spread) ** 2 - logDensity(one, x);
      }
    }
    const read = new Set(readings.map((reading) => reading.place));
    const pairs = data.correlated.filter(([a, b]) => read.has(a) && read.has(b));
    const tied = [...read].filter((place) => pairs.some(([a, b]) => a === place || b === place));
    if (tied.length) {
      const matrix = tied.map((a) => tied.map((b) => {
        const pair = pairs.find(([c, d]) => (c === a && d === b) || (c === b && d === a));
        return a === b ? 1 : pair ? pair[2] : 0;
      }));
      const inverted = inverse(matrix);
      for (let i = 0; i < total.length; i++) {
        const z = tied.map((place) => score(inputs[place], inputs[place].drawn[i]));
        for (let a = 0; a < z.length; a++) {
          for (let b = 0; b < z.length; b++) total[i] += 0.5 * z[a] * (inverted[a][b] - (a === b ? 1 : 0)) * z[b];
        }
      }
    }
    const most = total.reduce((a, b) => Math.max(a, b), -Infinity);
    return total.map((x) => Math.exp(x - most));
  }
  function wilson(share, size) {
    const z = data.score, scale = 1 + (z * z) / size;
    const middle = (share + (z * z) / (2 * size)) / scale;
    const half = (z * Math.sqrt((share * (1 - share)) / size + (z * z) / (4 * size * size))) / scale;
    return [Math.max(middle - half, 0), Math.min(middle + half, 1)];
  }
  function quantile(values, order, weight, total, share) {
    let below = 0;
    for (const i of order) {
      below += weight[i];
      if (below >= share * total * (1 - 1e-12)) return values[i];
    }
    return values[order[order.length - 1]];
  }
  function see(weight) {
    let total = 0, squares = 0, good = 0, inside = 0;
    weight.forEach((w, i) => {
      total += w;
      squares += w * w;
      if (flags[i] & 1) good += w;
      if (flags[i] & 2) inside += w;
    });
    const effective = (total * total) / squares;
    if (effective < data.least) return { effective, refused: "thin" };
    const percentile = (values, order, share) => {
      const [low, high] = wilson(share, effective);
      return [low, share, high].map((p) => quantile(values, order, weight, total, p));
    };
    const share = good / total, [low, high] = wilson(share, effective);
    return {
      effective, success: [low, share, high], inside: inside / total,
      radius_95: percentile(miss, missOrder, 0.95), speed_50: percentile(speed, speedOrder, 0.5),
      speed_95: percentile(speed, speedOrder, 0.95),
      ignition: ignition ? [0.05, 0.5, 0.95].map((p) => percentile(ignition, ignitionOrder, p)) : [],
    };
  }

  // ---- what people type ----------------------------------------------------------------------
  function number(text, unit) {
    let bare = text.trim().replace(/[\u2212\u2013]/g, "-").replace(/^\+\/?-/, "");
    for (const known of unit === "degC" ? ["degC", "\u00b0C", "C", "K"] : unit === "deg" ? ["deg", "\u00b0"] : [unit]) {
      if (bare.endsWith(known)) { bare = bare.slice(0, -known.length).trim(); break; }
    }
    if (/^[-+]?\d+,\d+$/.test(bare)) bare = bare.replace(",", ".");
    return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(bare) ? Number(bare) : NaN;
  }
  const field = (place) => document.getElementById(`today-${place}`);
  const doubt = (place) => document.getElementById(`today-${place}-doubt`);
  function blame(place, box, words) {
    document.getElementById(`today-${place}-fault`).textContent = words;
    for (const one of [field(place), doubt(place)]) {
      if (one === box) one.setAttribute("aria-invalid", "true");
      else one.removeAttribute("aria-invalid");
    }
  }
  function read(place) {
    const one = inputs[place], said = field(place).value.trim(), sure = doubt(place).value.trim();
    blame(place, null, "");
    if (!said && !sure) return null;
    const wrong = (box, words) => { blame(place, box, words); return { wrong: box }; };
    if (!said) return wrong(field(place), `Reading missing: write it in ${one.unit}, or empty both.`);
    const value = number(said, one.unit);
    if (Number.isNaN(value)) return wrong(field(place), `\u201c${said}\u201d is no number: write the reading in ${one.unit}, as ${one.example}.`);
    if (!sure) return wrong(doubt(place), `How sure is that? Write one standard deviation in ${one.size}, as ${one.doubt}.`);
    const spread = number(sure, one.unit);
    if (Number.isNaN(spread)) return wrong(doubt(place), `\u201c${sure}\u201d is no number: write one standard deviation in ${one.size}, as ${one.doubt}.`);
    if (!(spread > 0)) return wrong(doubt(place), `The uncertainty must be above zero, as ${one.doubt} ${one.size}.`);
    const si = value * one.factor + one.offset, width = spread * one.factor;
    const low = one.values.low, high = one.values.high;
    if (si < (one.natural ? 0 : low) || si > high) {
      return wrong(field(place), `Refused: ${said} is outside what was simulated (${one.range}). Fly an ensemble about it.`);
    }
    if ((!one.natural && si - data.reach * width < low) || si + data.reach * width > high) {
      return wrong(doubt(place), `Refused: give or take ${sure}, it reaches beyond what was simulated (${one.range}). Measure closer, or fly an ensemble about it.`);
    }
    return { place, value: si, spread: width };
  }

  // ---- what is shown -------------------------------------------------------------------------
  const percent = (x) => `${(100 * x).toFixed(1)}\u00a0%`;
  const metres = (x) => (Number.isFinite(x) ? x.toFixed(2) : "no bound");
  function rows(found) {
    const range = ([low, middle, high], unit) =>
      Number.isFinite(middle) ? `${middle.toFixed(2)} ${unit} (${metres(low)} to ${metres(high)})` : "beyond";
    const said = [["success", `${percent(found.success[1])} (${percent(found.success[0])} to ${percent(found.success[2])})`]];
    if (data.pad) said.push(["all feet inside the landing pad", percent(found.inside)]);
    said.push(["95 % come down within, from the mark", range(found.radius_95, "m")]);
    said.push(["touchdown speed, median", range(found.speed_50, "m/s")]);
    said.push(["touchdown speed, 95 % are slower", range(found.speed_95, "m/s")]);
    if (found.ignition.length) {
      const [low, middle, high] = found.ignition;
      said.push(["landing motor lights, feet above the landing pad, median (0 if it never does)", range(middle, "m")]);
      said.push(["of 90 % of flights between", `${low[1].toFixed(2)} and ${high[1].toFixed(2)} m`]);
    }
    said.push(["effective sample size", `${found.effective.toFixed(0)} of ${data.flights}`]);
    return said;
  }
  function element(name, text, options) {
    const made = document.createElement(name);
    made.textContent = text;
    return Object.assign(made, options);
  }
  function warn(text) {
    answer.replaceChildren(element("p", text, { className: "warning" }));
  }
  const plainly = see(new Float64Array(data.flights).fill(1));
  function show(found) {
    const table = document.createElement("table");
    table.append(element("caption", "With today's readings"));
    const head = table.createTHead().insertRow();
    for (const text of ["", "today", "as simulated"]) {
      head.append(text ? element("th", text, { scope: "col" }) : document.createElement("td"));
    }
    const body = table.createTBody(), before = plainly.refused ? null : rows(plainly);
    rows(found).forEach(([what, said], k) => {
      const row = body.insertRow();
      row.append(element("th", what, { scope: "row" }), element("td", said), element("td", before ? before[k][1] : "too few flights"));
    });
    const box = document.createElement("div");
    box.className = "table";
    box.append(table);
    const lead = `${percent(found.success[1])} of flights succeed with today's readings; the chance lies between ${percent(found.success[0])} and ${percent(found.success[2])}.`;
    answer.replaceChildren(element("p", lead, { className: "lead" }), box);
  }
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    delete answer.dataset.result;
    const found = inputs.map((_, place) => read(place)).filter(Boolean);
    const wrong = found.find((one) => one.wrong);
    if (wrong) {
      warn("No answer yet: see the messages beside the fields.");
      wrong.wrong.focus();
      return;
    }
    if (!found.length) {
      warn("Nothing is typed in yet: give at least one reading and its uncertainty.");
      return;
    }
    const seen = see(weigh(found));
    answer.dataset.result = JSON.stringify(seen);
    if (seen.refused) {
      warn(`Refused: too few of the ${data.flights} flights fit these readings (effective sample size ${seen.effective.toFixed(0)}, ${data.least} are needed). Leave out a reading that matters little, or fly an ensemble with these values.`);
    } else show(seen);
  });
  form.addEventListener("reset", function () {
    inputs.forEach((_, place) => blame(place, null, ""));
    answer.replaceChildren();
    delete answer.dataset.result;
  });
  form.hidden = false;
  document.getElementById("today-script").hidden = true;
})();
