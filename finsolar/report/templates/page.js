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
      transition: { duration: still ? 0 : 200 },
      autosize: true,
    });
    for (const name of Object.keys(layout)) {
      if (/^[xy]axis/.test(name)) { layout[name] = Object.assign({}, axis, layout[name]); }
    }
    if (narrow && figure.narrow) {
      // Panels that stand side by side on a wide screen go one below the other.
      holder.style.height = figure.narrow.height + "px";
      for (const [name, part] of Object.entries(figure.narrow.layout)) {
        layout[name] = Object.assign({}, layout[name], part);
      }
    } else if (narrow) {
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

  // A meaning that stands in the way goes at Esc, until its term is left.
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") { return; }
    for (const term of document.querySelectorAll("a.term:hover, a.term:focus-visible")) {
      term.classList.add("hushed");
      for (const left of ["pointerleave", "blur"]) {
        term.addEventListener(left, function () { term.classList.remove("hushed"); }, { once: true });
      }
    }
  });

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
    if (window.Plotly) { return; } // a page on its way to the printer holds it as it is
    const packed = document.getElementById("packed-script").textContent;
    // Browsers of late unpack it by themselves, a good deal quicker.
    const bytes = Uint8Array.fromBase64
      ? Uint8Array.fromBase64(packed)
      : Uint8Array.from(atob(packed), (sign) => sign.charCodeAt(0));
    const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(plain).text();
    document.head.append(script);
  }

  // A chart may change while the page is open: whoever asks for it says what becomes of its data.
  for (const holder of holders) {
    holder.addEventListener("redraw", function (event) {
      const figure = figures[holder.dataset.chart];
      figure.data = event.detail(figure.data);
      if (holder.data) { draw(holder); }
    });
  }

  // Paper is white, and as wide as it is, whatever screen the page is printed from.
  function onPaper() {
    document.documentElement.classList.add("on-paper");
    holders.forEach(draw);
  }

  function onScreen() {
    document.documentElement.classList.remove("on-paper");
    holders.forEach(draw);
  }

  unpack().then(
    function () {
      holders.forEach(function (holder) { near.observe(holder); });
      window.addEventListener("beforeprint", onPaper);
      window.addEventListener("afterprint", onScreen);
      window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", function () {
        holders.filter(function (holder) { return holder.dataset.drawn; }).forEach(draw);
      });
    },
    function () {
      for (const holder of holders) {
        holder.textContent = document.getElementById("packed-script").dataset.tooOld;
      }
    }
  );
})();
