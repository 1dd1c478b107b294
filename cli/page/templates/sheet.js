"use strict";
// Moves factors, verdicts and the marker of the strength map; interpolates and nothing else.
(function () {
  const NO_LIMIT = -1;

  function place(axis, value) {
    const last = axis.length - 2;
    const at = (value - axis[0]) / (axis[1] - axis[0]);
    const cell = Math.max(0, Math.min(Math.floor(at + 1e-9), last));
    return { cell: cell, share: Math.max(0, Math.min(1, (value - axis[cell]) / (axis[cell + 1] - axis[cell]))) };
  }

  // nodes that carry no weight are not asked, so that a node stands for itself
  function between(grid, c, phi) {
    let sum = 0, unlimited = 0, weight = 0;
    for (const [i, wi] of [[c.cell, 1 - c.share], [c.cell + 1, c.share]]) {
      for (const [j, wj] of [[phi.cell, 1 - phi.share], [phi.cell + 1, phi.share]]) {
        const w = wi * wj;
        if (w < 1e-9) { continue; }
        const value = grid[i][j];
        if (value === null) { return null; }
        if (value === NO_LIMIT) { unlimited += w; continue; }
        sum += w * value;
        weight += w;
      }
    }
    if (unlimited > 0) { return weight > 0 ? null : Infinity; }
    return sum / weight;
  }

  // two decimals, cut and never rounded up, as everywhere on the sheet
  function text(factor) {
    if (factor === null) { return "not available"; }
    if (factor === Infinity) { return "no limit"; }
    const shown = factor.toFixed(2);
    return Number(shown) <= factor ? shown : ((Math.round(factor * 100) - 1) / 100).toFixed(2);
  }

  function verdict(factor, target, error) {
    if (factor === null) { return ["not available", "open"]; }
    const low = factor * (1 - error), high = factor * (1 + error);
    if (low < 1 && high >= 1) { return ["too close to 1 to tell", "bad"]; }
    if (high < 1) { return ["below 1", "bad"]; }
    if (target === null) { return ["no target", "open"]; }
    if (high < target) { return ["misses", "bad"]; }
    if (low < target) { return ["too close to the target to tell", "bad"]; }
    return ["meets", "good"];
  }

  function percent(share) {
    const value = 100 * share;
    return value < 0.01 ? "0.01 %" : (Math.ceil(value * 100) / 100).toFixed(2) + " %";
  }

  function short(value, axis) {
    return (axis[1] - axis[0]) / 2 < 0.1 - 1e-9 || Math.abs(value * 10 - Math.round(value * 10)) > 1e-6
      ? value.toFixed(2) : value.toFixed(1);
  }

  function start(panel) {
    const data = JSON.parse(panel.querySelector("script.grid").textContent);
    const phi = panel.querySelector("input.phi"), c = panel.querySelector("input.c");
    const lines = Array.from(panel.querySelectorAll("table.live tbody tr"));
    const used = lines.map(function (line) { return line.querySelector(".judged").firstElementChild; });
    const marker = document.getElementById(panel.dataset.slider + "-marker");
    const status = panel.querySelector(".status");

    function mark(cohesion, angle) {
      if (!marker) { return; }
      const m = marker.dataset;
      const across = (angle - data.friction_angle[0]) / (data.friction_angle.at(-1) - data.friction_angle[0]);
      const up = (cohesion - data.cohesion[0]) / (data.cohesion.at(-1) - data.cohesion[0]);
      const x = Number(m.left) + across * Number(m.width), y = Number(m.bottom) - up * Number(m.height);
      marker.setAttribute("transform", "translate(" + x.toFixed(2) + " " + y.toFixed(2) + ")");
    }

    function name(cohesion, angle, aside) {
      const a = short(angle, data.friction_angle) + " deg" + aside, b = short(cohesion, data.cohesion) + " kPa" + aside;
      panel.querySelector(".phi-shown").textContent = a;
      panel.querySelector(".c-shown").textContent = b;
      phi.setAttribute("aria-valuetext", a);
      c.setAttribute("aria-valuetext", b);
    }

    function move() {
      const cohesion = Number(c.value), angle = Number(phi.value);
      const i = place(data.cohesion, cohesion), j = place(data.friction_angle, angle);
      let good = 0, judged = 0;
      data.rows.forEach(function (row, index) {
        const factor = between(row.grid, i, j);
        const error = Math.max(row.bounds[i.cell], i.share < 1e-9 && i.cell > 0 ? row.bounds[i.cell - 1] : 0);
        const [words, tone] = verdict(factor, row.target, error);
        const line = lines[index];
        line.querySelector(".now").textContent = text(factor);
        line.querySelector(".now").dataset.factor = String(factor);
        line.querySelector(".error").textContent = factor === null ? "" : percent(error);
        const mark = document.createElement("span");
        mark.className = "verdict " + tone;
        mark.textContent = words;
        line.querySelector(".judged").replaceChildren(mark);
        if (row.target !== null) { judged += 1; good += tone === "good" ? 1 : 0; }
      });
      name(cohesion, angle, "");
      mark(cohesion, angle);
      // a slider stops beside the strength used, not on it: half a stop is no change
      const stronger = cohesion > data.used[0] + 0.51 * Number(c.step) || angle > data.used[1] + 0.51 * Number(phi.step);
      status.textContent = good + " of " + judged + " factors with a target meet it." +
        (stronger ? " Part of this strength is higher than the strength used." : "");
    }

    function back() {
      phi.value = String(data.used[1]);
      c.value = String(data.used[0]);
      data.rows.forEach(function (row, index) {
        const line = lines[index];
        line.querySelector(".now").textContent = row.used_text;
        line.querySelector(".now").dataset.factor = String(row.used);
        line.querySelector(".judged").replaceChildren(used[index]);
        line.querySelector(".error").textContent = "computed";
      });
      panel.querySelector(".phi-shown").textContent = data.used[1].toFixed(1) + " deg, as used";
      panel.querySelector(".c-shown").textContent = data.used[0].toFixed(1) + " kPa, as used";
      phi.setAttribute("aria-valuetext", data.used[1].toFixed(1) + " deg, as used");
      c.setAttribute("aria-valuetext", data.used[0].toFixed(1) + " kPa, as used");
      mark(data.used[0], data.used[1]);
      status.textContent = "Factors as the program computed them for the strength used.";
    }

    phi.addEventListener("input", move);
    c.addEventListener("input", move);
    panel.querySelector("button.back").addEventListener("click", back);
    panel.querySelector(".controls").hidden = false;
    back();
  }

  document.querySelectorAll("[data-slider]").forEach(start);
})();
