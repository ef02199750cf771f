// Beside the plan: the figures, what is chosen, the jobs, the checks.  All text is set as text.

import { hear, tell } from "./talk.js";
import { mark, movable, redraw } from "./plan.js";
import { flag, put, say } from "./put.js";

const by = (id) => document.getElementById(id);
let plan = null;
let revision = 0; // of where things stand
let reckoned = -1; // of the metres shown
let listed = ""; // the checks shown, as they were told
let checked = -1; // of the checks and the walk shown

function element(kind, text, given = {}) {
  const made = document.createElement(kind);
  made.textContent = text;
  for (const [name, value] of Object.entries(given)) made.setAttribute(name, value);
  return made;
}

hear("plan", (message) => {
  plan = message;
  listed = "";
  checked = reckoned = -1;
  document.title = `${message.title} · footwork`;
  by("title").textContent = message.title;
  by("where").textContent = `${message.file}, layout ${message.layout}`;
  if (message.propose !== undefined) by("save-name").value = message.propose;
  by("unit").textContent = message.unit;
  by("each-head").textContent = `${message.unit} each`;
  by("nudges").textContent = message.nudges;
  const focused = by("jobs").contains(document.activeElement) ? document.activeElement.textContent : null;
  by("jobs").replaceChildren(...message.jobs.map(jobRow));
  [...by("jobs").querySelectorAll("button")].find((each) => each.textContent === focused)?.focus();
  by("vehicles").replaceChildren(...message.vehicles.map(vehicleSwitch));
});

function jobRow(job) {
  const row = document.createElement("tr");
  const head = element("th", "", { scope: "row" });
  const pick = element("button", job.shown, { type: "button", class: "pick", "aria-pressed": "false" });
  pick.addEventListener("click", () => {
    tell({ do: "job", name: pick.getAttribute("aria-pressed") === "true" ? null : job.name });
  });
  head.append(pick);
  if (job.when) head.append(element("small", job.when));
  row.append(head, element("td", job.times), element("td", ""), element("td", ""), element("td", ""));
  return row;
}

function vehicleSwitch(vehicle) {
  const label = element("label", "", { class: "switch" });
  const box = element("input", "", { type: "checkbox", "data-vehicle": vehicle.name });
  box.addEventListener("change", () => tell({ do: "vehicle", name: vehicle.name, out: !box.checked }));
  label.append(box, element("span", `${vehicle.shown} is in`));
  return label;
}

hear("placed", (message) => {
  revision = message.revision;
  document.body.dataset.revision = revision;
  by("undo").disabled = message.undo === null;
  put(by("undo"), "title", message.undo === null ? "" : `take back: ${message.undo}`);
  by("redo").disabled = message.redo === null;
  put(by("redo"), "title", message.redo === null ? "" : `do again: ${message.redo}`);
  say(by("where"), `${message.unsaved ? "not saved: " : ""}${plan.file}, layout ${plan.layout}`);
  flag(document.body, "unsaved", message.unsaved);
  showChosen(message);
  for (const box of document.querySelectorAll("[data-vehicle]")) {
    if (box.tagName === "INPUT") box.checked = !message.out.includes(box.dataset.vehicle);
  }
  plan.jobs.forEach((job, k) => {
    const row = by("jobs").children[k];
    flag(row, "shown", job.name === message.job);
    put(row.querySelector("button"), "aria-pressed", String(job.name === message.job));
  });
  if (message.job === null) redraw(by("walk"), "");
  age();
});

// What is not up to date looks so.
function age() {
  for (const id of ["figures", "jobs"]) flag(by(id), "stale", reckoned < revision);
  for (const id of ["check-list", "verdict", "walk"]) flag(by(id), "stale", checked < revision);
}

function showChosen(message) {
  const names = message.chosen;
  by("thing").hidden = !names.length;
  by("hint").hidden = names.length > 0;
  say(by("hint"), plan.roomless ? "The plan begins with the room: type the lengths of its walls."
    : plan.things.length ? "Drag a thing to move it, or click it to see how much room it has on each side."
      : "Put in doors and windows, then what stands in the room.");
  if (!names.length) return;
  const known = names.map((name) => plan.things.find((thing) => thing.name === name));
  say(by("thing-name"), known.length === 1 ? known[0].shown : `${known.length} things`);
  const fixed = known.length === 1 && known[0].fixed;
  say(by("thing-words"), known.length === 1
    ? `${known[0].size}, facing ${message.facing[0]}${fixed ? "; the file says that it is fixed" : ""}`
    : known.map((thing) => thing.shown).join(", "));
  by("turn").disabled = !movable().length;
  by("sides").hidden = known.length !== 1;
  if (known.length === 1) showSides(names[0], message.clear, fixed);
}

function showSides(name, clear, fixed) {
  const box = by("sides");
  if (box.dataset.name !== name) {
    box.dataset.name = name;
    box.replaceChildren(...clear.map((each) => sideRow(name, each.side)));
  }
  for (const each of clear) {
    const input = by(`side-${each.side}`);
    if ((document.activeElement !== input || input.dataset.sent) && input.value !== each.text) input.value = each.text;
    delete input.dataset.sent;
    input.disabled = fixed || !each.to;
    const to = by(`to-${each.side}`);
    say(to, each.to && `${each.overlaps ? "overlaps" : "to"} ${each.to}`);
    put(to, "title", to.textContent);
  }
}

function sideRow(name, side) {
  const input = element("input", "", { id: `side-${side}`, autocomplete: "off", spellcheck: "false" });
  const send = () => {
    input.dataset.sent = "yes";
    tell({ do: "measure", name, side, text: input.value });
  };
  let before = "";
  input.addEventListener("focus", () => { before = input.value; input.select(); });
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") { send(); before = input.value; }
    if (event.key === "Escape") { input.value = before; input.blur(); }
  });
  input.addEventListener("blur", () => { input.value = before; });
  const row = document.createElement("div");
  const to = element("output", "", { id: `to-${side}`, for: `side-${side}` });
  row.append(element("label", side, { for: `side-${side}` }), input, to);
  return row;
}

by("turn").addEventListener("click", () => tell({ do: "turn", names: movable(), degrees: 90 }));

// Figures

function change(cell, words) {
  say(cell, words);
  put(cell, "class", words.startsWith("+") ? "more" : words ? "less" : "");
}

hear("figures", (message) => {
  if (message.revision < plan.revision) return; // of what there was before
  reckoned = message.revision;
  by("figures").dataset.revision = reckoned;
  by("figures").dataset.metres = message.metres_per_year;
  say(by("metres"), message.metres);
  say(by("hours"), message.hours);
  change(by("change"), message.change);
  say(by("squeezed"), message.squeezed
    ? `${message.squeezed} ${plan.unit} of it squeezed through where there is no way wide enough`
    : "");
  message.jobs.forEach((job, k) => {
    const row = by("jobs").children[k];
    say(row.children[2], job.each);
    say(row.children[3], job.year);
    change(row.children[4], job.change);
    flag(row, "blocked", job.blocked);
  });
  if (message.checks) showChecks(message);
  age();
});

function showChecks(message) {
  checked = message.revision;
  by("checks").dataset.revision = checked;
  by("checks").dataset.words = message.words;
  say(by("cost"), `; with wishes and checks ${message.cost} ${plan.unit}`);
  const musts = message.checks.filter((check) => check.severity === "must").length;
  const shoulds = message.checks.length - musts;
  const failing = [musts && `${musts} must`, shoulds && `${shoulds} should`].filter(Boolean).join(" and ");
  say(by("verdict"), message.checks.length ? `${failing} failing` : "all checks pass");
  flag(by("verdict"), "must", musts > 0);
  const words = JSON.stringify(message.checks);
  if (words !== listed) by("check-list").replaceChildren(...message.checks.map(checkItem));
  listed = words;
  mark("fails", message.checks.filter((check) => check.severity === "must").map((check) => check.subject));
  redraw(by("walk"), message.walk_svg);
}

function checkItem(check) {
  const item = element("li", "", { class: check.severity });
  item.append(element("b", `${check.severity}: `), element("span", check.text));
  item.title = check.id;
  item.addEventListener("pointerenter", () => mark("named-by", check.about));
  item.addEventListener("pointerleave", () => mark("named-by", []));
  return item;
}

