"use strict";
(() => {
  const all = (query, root = document) => [...root.querySelectorAll(query)];
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let chosen = "";
  let glanced = "";

  for (const each of all(".controls, .hint")) each.hidden = false;

  // before or after: every switch shows the same
  const radios = all(".switch input");
  const showView = (key) => {
    for (const radio of radios) radio.checked = radio.value === key;
    for (const view of all(".view")) view.classList.toggle("off", view.dataset.view !== key);
    measure();
  };
  for (const radio of radios) radio.addEventListener("change", () => showView(radio.value));

  // the walk of a job: one that is chosen stays; a glance lasts while the pointer or the focus is there
  const select = document.getElementById("walk");
  const rows = all("#jobs tbody tr");
  const paint = () => {
    const job = glanced || chosen;
    for (const line of all(".walks li")) line.classList.toggle("off", line.dataset.job !== job);
    for (const plan of all("svg.plan")) {
      let out = [];
      plan.classList.toggle("walking", job !== "");
      for (const walk of all(".walk", plan)) {
        const on = walk.dataset.job === job;
        walk.classList.toggle("on", on);
        if (on && walk.dataset.out) out = walk.dataset.out.split("\n");
      }
      for (const body of all("[data-vehicle]", plan)) {
        const gone = out.includes(body.dataset.vehicle);
        body.classList.toggle("gone", gone && body.classList.contains("in"));
        body.classList.toggle("on", gone && body.classList.contains("out"));
      }
    }
    for (const row of rows) row.classList.toggle("shown", row.dataset.job === job);
  };
  const choose = (job, fromTable) => {
    chosen = job;
    glanced = "";
    if (select) select.value = job;
    for (const row of rows) {
      row.querySelector("button.pick").setAttribute("aria-pressed", String(row.dataset.job === job));
    }
    paint();
    const line = all(".view:not(.off) .walks li:not(.off)")[0];
    document.getElementById("told").textContent = line ? line.textContent : "No walk is shown.";
    const plan = all(".plans .view:not(.off) svg.plan")[0];
    if (fromTable && job && plan) {
      const box = plan.getBoundingClientRect();
      if (box.bottom < 120 || box.top > innerHeight - 120) {
        plan.closest("figure").scrollIntoView({ behavior: calm.matches ? "auto" : "smooth", block: "start" });
      }
    }
  };
  const glance = (job) => { glanced = job; paint(); };
  for (const row of rows) {
    const name = row.querySelector(".name");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "pick";
    button.setAttribute("aria-pressed", "false");
    name.replaceWith(button);
    button.append(name);
    button.addEventListener("click", () => choose(chosen === row.dataset.job ? "" : row.dataset.job, true));
    button.addEventListener("focus", () => { if (button.matches(":focus-visible")) glance(row.dataset.job); });
    button.addEventListener("blur", () => glance(""));
    row.addEventListener("pointerenter", (event) => { if (event.pointerType === "mouse") glance(row.dataset.job); });
    row.addEventListener("pointerleave", () => glance(""));
  }
  if (select) {
    select.value = "";
    select.addEventListener("change", () => choose(select.value, false));
  }
  addEventListener("keydown", (event) => { if (event.key === "Escape" && chosen) choose("", false); });

  // tables sort by a click on a head, or by its key: figures from the greatest, words from the first
  const value = (row, column) => {
    const cell = row.cells[column];
    return "figure" in cell.dataset ? Number(cell.dataset.figure.replace("inf", "Infinity")) : cell.dataset.word;
  };
  const compare = (a, b) => {
    if (typeof a === "number" && typeof b === "number") return a === b ? 0 : a - b;
    if (typeof a !== typeof b) return typeof a === "number" ? -1 : 1;
    return a.localeCompare(b, undefined, { numeric: true });
  };
  for (const table of all("table")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const words = head.querySelector(".head");
      if (!words) return;
      const button = document.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.append(...words.childNodes);
      words.append(button);
      button.addEventListener("click", () => {
        const first = head.classList.contains("figure") ? "descending" : "ascending";
        const other = first === "ascending" ? "descending" : "ascending";
        const way = head.getAttribute("aria-sort") === first ? other : first;
        const sign = way === "ascending" ? 1 : -1;
        for (const each of heads) each.removeAttribute("aria-sort");
        head.setAttribute("aria-sort", way);
        const body = table.tBodies[0];
        body.append(...[...body.rows].sort((a, b) => sign * compare(value(a, column), value(b, column))));
      });
    });
  }

  // a table that does not need to be scrolled is no stop for the tab key
  const measure = () => {
    for (const each of all(".scroll")) {
      if (each.scrollWidth > each.clientWidth + 1) each.tabIndex = 0;
      else each.removeAttribute("tabindex");
    }
  };
  addEventListener("resize", measure);
  if (radios.length) showView("after");
  measure();
  paint();
})();
