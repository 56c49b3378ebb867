"use strict";
// Draws each chart when it comes near the screen, in the colours of the page's light or dark paper.
(function () {
  const figures = JSON.parse(document.getElementById("chart-data").textContent);
  const holders = Array.from(document.querySelectorAll("[data-chart]"));
  const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;

  function ink(name) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  }

  // Upright labels that would stand one over the other are left out; the table behind the chart names every day.
  function apart(layout, width) {
    const all = layout.annotations || [];
    if (!all.length) { return []; }
    const range = layout.xaxis.range.map(Date.parse);
    const place = (one) => (Date.parse(one.x) - range[0]) / (range[1] - range[0]) * (width - 70) + (one.xshift || 0);
    const taken = [];
    return all.slice().reverse().filter(function (one) {
      const at = place(one), free = taken.every((other) => Math.abs(other - at) >= 26);
      if (free) { taken.push(at); }
      return free;
    });
  }

  function draw(holder) {
    const figure = figures[holder.dataset.chart];
    const narrow = holder.clientWidth < 520;
    const axis = { gridcolor: ink("--hairline"), linecolor: ink("--rule"), tickcolor: ink("--rule") };
    const layout = Object.assign({}, figure.layout, {
      paper_bgcolor: "rgba(0,0,0,0)",
      plot_bgcolor: "rgba(0,0,0,0)",
      font: { family: ink("--text-face"), size: narrow ? 12 : 13, color: ink("--ink") },
      hoverlabel: { bgcolor: ink("--paper"), bordercolor: ink("--rule"), font: { color: ink("--ink") }, namelength: 40 },
      xaxis: Object.assign({}, axis, figure.layout.xaxis),
      yaxis: Object.assign({}, axis, figure.layout.yaxis),
      transition: { duration: still ? 0 : 200 },
      autosize: true,
    });
    if (narrow) {
      layout.margin = Object.assign({}, layout.margin, { l: 8, r: 8 });
      layout.annotations = apart(figure.layout, holder.clientWidth);
      const title = figure.layout.yaxis.title;
      if (title) {
        // The unit moves from beside the axis to above it, where it costs no width.
        layout.yaxis = Object.assign({}, layout.yaxis, { title: { text: "" } });
        layout.margin.t = 30;
        // Upright labels stand there already, and the ticks carry the currency.
        if (!layout.annotations.length) layout.annotations.push({
          text: title.text, showarrow: false, xref: "paper", yref: "paper",
          x: 0, y: 1, xanchor: "left", yanchor: "bottom", font: { size: 12 },
        });
      }
    }
    const settings = { responsive: true, displaylogo: false, displayModeBar: false, scrollZoom: false };
    return Plotly.react(holder, figure.data, layout, settings).then(function () {
      holder.dataset.drawn = "yes";
    });
  }

  const near = new IntersectionObserver(
    function (entries) {
      for (const entry of entries) {
        if (entry.isIntersecting) {
          near.unobserve(entry.target);
          draw(entry.target);
        }
      }
    },
    { rootMargin: "400px" }
  );

  // The drawing script lies in the page packed, at half its size.
  async function unpack() {
    const packed = atob(document.getElementById("packed-script").textContent);
    const bytes = Uint8Array.from(packed, (sign) => sign.charCodeAt(0));
    const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(plain).text();
    document.head.append(script);
  }

  function drawAll() { return Promise.all(holders.map(draw)); }
  unpack().then(
    function () {
      holders.forEach(function (holder) { near.observe(holder); });
      window.addEventListener("beforeprint", drawAll);
      window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", function () {
        holders.filter(function (holder) { return holder.dataset.drawn; }).forEach(draw);
      });
    },
    function () {
      for (const holder of holders) {
        holder.textContent = "This browser is too old to draw the chart; its numbers stand in the table behind it.";
      }
    }
  );
})();
