"use strict";
// Answers to sliders: looks up what the study worked out beforehand, and tells it in the sentences it was given.
(function () {
  const given = JSON.parse(document.getElementById("try-data").textContent);
  const byId = (id) => document.getElementById(id);
  const sliders = given.sliders.map((one) => byId(one.id)); // none where there is but one stop
  const plan = byId("try-plan");
  const rows = Array.from(byId("try-table").tBodies[0].rows);
  const holder = document.querySelector("[data-chart=try-running]");
  const figure = holder.closest("figure");
  const years = Array.from(figure.querySelectorAll("tbody tr"));

  // Whole amounts, half of one away from zero.
  function money(amount) {
    const whole = Math.round(Math.abs(amount));
    const digits = String(whole).replace(/\B(?=(\d{3})+$)/g, ",");
    return (amount < 0 && whole > 0 ? given.minus : "") + given.sign + digits;
  }

  function fill(pattern, values) {
    return pattern.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  }

  // A list of one stands for all stops of a slider that makes no difference.
  function found(grid, stops) {
    return stops.reduce((part, stop) => part[Math.min(stop, part.length - 1)], grid);
  }

  function show() {
    const stops = given.sliders.map((one, k) => (sliders[k] ? Number(sliders[k].value) : one.own));
    const chosen = plan ? Number(plan.value) : 0;
    const all = given.plans.map((one) => ({
      name: one.name,
      payments: one.payments,
      cost: found(one.cost, stops),
      saving: found(one.saving, stops),
      npv: found(one.npv, stops),
      running: found(one.running, stops),
      payback: given.texts[found(one.payback, stops)],
      back: given.texts[found(one.back, stops)],
      irr: given.texts[found(one.irr, stops)],
    }));
    sliders.forEach(function (slider, k) {
      if (slider) {
        const words = given.sliders[k].stops[stops[k]];
        slider.setAttribute("aria-valuetext", words);
        slider.nextElementSibling.textContent = words;
      }
    });
    tell(all[chosen], given.rates[stops[2]]);
    rows.forEach(function (row, i) {
      const one = all[i];
      const cells = [money(one.cost), money(one.saving), money(one.npv), one.back, one.irr];
      cells.forEach(function (text, k) { row.cells[k + 1].textContent = text; });
      row.classList.toggle("chosen", i === chosen);
      row.setAttribute("aria-current", String(i === chosen));
    });
    draw(all, chosen);
  }

  function tell(one, rate) {
    const saving = fill(given.saving[one.saving < 0 ? 0 : 1], { amount: money(Math.abs(one.saving)) });
    byId("try-answer").textContent = fill(given.answer, {
      name: one.name, cost: money(one.cost), payments: one.payments, saving: saving, payback: one.payback,
    });
    byId("try-worth").textContent = fill(given.worth, {
      years: given.years, amount: money(Math.abs(one.npv)), side: given.side[one.npv < 0 ? 0 : 1], rate: rate,
    });
  }

  function draw(all, chosen) {
    const last = (one) => one.running[one.running.length - 1];
    const highest = all.reduce((best, one) => (last(one) > last(best) ? one : best));
    const ends = all.map((one) => ({ name: one.name, start: money(one.running[0]), end: money(last(one)) }));
    figure.querySelector(".reading").textContent = fill(given.reading, {
      name: highest.name, end: money(last(highest)), years: given.years,
    });
    byId("try-running-alt").textContent = [given.alt[0]].concat(ends.map((one) => fill(given.alt[1], one))).join(" ");
    years.forEach(function (row, year) {
      all.forEach(function (one, i) { row.cells[i + 1].textContent = money(one.running[year]); });
    });
    const redraw = (data) => data.map(function (line, i) {
      const look = given.looks[i === chosen ? 1 : 0];
      return Object.assign({}, line, {
        y: all[i].running, opacity: look.opacity, line: Object.assign({}, line.line, { width: look.width }),
      });
    });
    holder.dispatchEvent(new CustomEvent("redraw", { detail: redraw }));
  }

  byId("try-back").addEventListener("click", function () {
    sliders.forEach(function (slider, k) { if (slider) { slider.value = given.sliders[k].own; } });
    show();
  });
  for (const one of sliders.concat(plan)) {
    if (one) { one.addEventListener("input", show); }
  }
  show();
  byId("try-live").hidden = false;
})();
