// A job, stop by stop: click stations in the order one goes; bracket what is repeated.

import { hear, tell } from "./talk.js";
import { pick } from "./plan.js";
import { close as closeForm, element, reveal } from "./make.js";

const by = (id) => document.getElementById(id);
let plan = null;
let job = null; // the one in work: its name, and while the file has it not yet, its stops
let chosen = null; // stops chosen: where their list is, the first and the last of them
let awaited = null; // what is chosen once the program has done what was asked

hear("plan", (message) => {
  plan = message;
  if (job === null) return;
  if (job.wanted && plan.routes[job.wanted]) {
    job.name = job.wanted;
    job.wanted = null;
    tell({ do: "job", name: job.name });
  }
  const known = plan.routes[job.name];
  if (!known && job.made) return stop();
  if (known) Object.assign(job, { made: true, times: known.times, route: known.route });
  if (awaited !== null && chosen === awaited.before) chosen = awaited.chosen; // unless others were chosen meanwhile
  awaited = null;
  show();
});

hear("placed", (message) => {
  by("job-change").hidden = message.job === null || job !== null;
  by("job-change").dataset.name = message.job ?? "";
});

by("job-new").addEventListener("click", () => start({ name: "", times: "1", route: [], made: false }));
by("job-change").addEventListener("click", () => {
  const name = by("job-change").dataset.name;
  start({ name, ...plan.routes[name], made: true });
});

function start(which) {
  closeForm();
  job = which;
  chosen = null;
  by("job").hidden = false;
  by("job-new").hidden = by("job-change").hidden = true;
  by("job-name").value = job.name;
  by("job-times").value = job.times;
  by("job-delete").hidden = !job.made;
  const stops = [...plan.things.map((thing) => [thing.name, thing.shown]), ...plan.doors.map((door) => [`door:${door.name}`, `door ${door.name}`])];
  by("job-stop").replaceChildren(...stops.map(([name, shown]) => element("option", shown, { value: name })));
  pick((name) => { if (name) add(name); });
  show();
  reveal(by("job"));
  (job.made ? by("job-times") : by("job-name")).focus({ preventScroll: true });
}

function stop() {
  job = null;
  by("job").hidden = true;
  by("job-new").hidden = false;
  pick(null);
  by("job-new").focus();
}

by("job-done").addEventListener("click", stop);
by("job-delete").addEventListener("click", () => {
  tell({ do: "edit", edit: "delete job", name: job.name });
  stop();
});
by("job-add").addEventListener("click", () => add(by("job-stop").value));
by("job").addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    event.stopPropagation();
    stop();
  }
});

by("job-name").addEventListener("change", () => {
  if (!job?.made) return;
  job.wanted = by("job-name").value.trim();
  tell({ do: "edit", edit: "job", name: job.name, new_name: job.wanted, times: job.times, route: job.route });
});

by("job-times").addEventListener("change", () => {
  job.times = by("job-times").value.trim();
  if (job.made) send(job.route, chosen);
});

// A route is a list of stops and of repeats that hold lists; a place in it a list of numbers.
const copy = () => JSON.parse(JSON.stringify(job.route));
const list = (route, path) => path.reduce((stops, k) => stops[k].route, route);

function add(name) {
  if (job === null) return;
  const route = copy();
  let next = null;
  if (chosen) {
    list(route, chosen.path).splice(chosen.last + 1, 0, name);
    next = { path: chosen.path, first: chosen.last + 1, last: chosen.last + 1 };
  } else route.push(name);
  send(route, next);
}

function send(route, next) {
  if (!job.made) job.name = by("job-name").value.trim();
  job.times = by("job-times").value.trim();
  awaited = { chosen: next, before: chosen };
  tell({ do: "edit", edit: "job", name: job.name, times: job.times, route });
  if (!job.made) tell({ do: "job", name: job.name });
}

hear("told", (message) => {
  if (job === null) return;
  by("job-fault").textContent = message.fault ? message.text : "";
  if (message.fault) awaited = null;
});

// The stops as buttons: one tap chooses one, a tap on another all from here to there.

function show() {
  by("job-delete").hidden = !job.made;
  const back = by("job").contains(document.activeElement) ? document.activeElement.id : null;
  by("stops").replaceChildren(...chips(job.route, []));
  by("stops-none").hidden = job.route.length > 0;
  tools();
  if (back && document.activeElement?.id !== back) by(back)?.focus();
}

function chips(stops, path) {
  return stops.map((each, k) => {
    const item = element("li");
    const id = `stop-${[...path, k].join("-")}`;
    const text = typeof each === "string" ? shown(each) : `${each.repeat} ×`;
    const label = typeof each === "string" ? `stop ${text}` : `repeated ${each.repeat} times`;
    const chip = element("button", text, { type: "button", class: "chip", id, "aria-label": label, "aria-pressed": String(isChosen(path, k)) });
    chip.addEventListener("click", () => choose(path, k));
    chip.addEventListener("keydown", (event) => {
      if (event.key === "Delete" || event.key === "Backspace") by("stop-remove").click();
    });
    item.append(chip);
    if (typeof each !== "string") {
      const inner = element("ol", "", { class: "bracket" });
      inner.append(...chips(each.route, [...path, k]));
      item.append(inner);
      item.classList.add("repeat");
    }
    return item;
  });
}

function shown(stop) {
  const [name, side] = stop.split(":");
  if (name === "door") return stop.replace(":", " ");
  const thing = plan.things.find((each) => each.name === name);
  return (thing?.shown ?? name) + (side ? ` (${side})` : "");
}

const isChosen = (path, k) => chosen !== null && String(chosen.path) === String(path) && k >= chosen.first && k <= chosen.last;

function choose(path, k) {
  const here = chosen !== null && String(chosen.path) === String(path);
  if (here && chosen.first === chosen.last && chosen.first !== k) {
    chosen = { path, first: Math.min(chosen.first, k), last: Math.max(chosen.last, k) };
  } else if (here && chosen.first === k && chosen.last === k) chosen = null;
  else chosen = { path, first: k, last: k };
  show();
}

function tools() {
  by("stop-tools").hidden = chosen === null;
  if (chosen === null) return;
  const stops = list(job.route, chosen.path);
  if (!stops[chosen.last]) {
    chosen = null;
    return show();
  }
  const only = chosen.first === chosen.last ? stops[chosen.first] : null;
  const repeat = only !== null && typeof only !== "string";
  by("stop-told").textContent = only === null ? `${chosen.last - chosen.first + 1} stops` : repeat ? `repeated ${only.repeat} times` : shown(only);
  by("repeat").textContent = repeat ? "Repeat so often" : "Put a bracket round";
  if (repeat) by("repeat-times").value = only.repeat;
  by("unbracket").hidden = !repeat;
  const sided = typeof only === "string" && !only.startsWith("door:");
  by("stop-side-label").hidden = !sided;
  if (sided) by("stop-side").value = only.split(":")[1] ?? "";
}

function change(edit, next) {
  const route = copy();
  edit(list(route, chosen.path));
  const where = next === undefined ? chosen : next;
  send(route, where);
}

by("stop-remove").addEventListener("click", () => {
  if (chosen) change((stops) => stops.splice(chosen.first, chosen.last - chosen.first + 1), null);
});
by("stop-side").addEventListener("change", () => change((stops) => {
  const name = stops[chosen.first].split(":")[0];
  stops[chosen.first] = by("stop-side").value ? `${name}:${by("stop-side").value}` : name;
}));
by("repeat").addEventListener("click", bracket);
by("repeat-times").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); bracket(); } });

function bracket() {
  const times = Number(by("repeat-times").value);
  const stops = list(job.route, chosen.path);
  const only = chosen.first === chosen.last ? stops[chosen.first] : null;
  if (only !== null && typeof only !== "string") return change((all) => { all[chosen.first].repeat = times; });
  const count = chosen.last - chosen.first + 1;
  const { path, first } = chosen;
  return change((all) => all.splice(first, count, { repeat: times, route: all.slice(first, first + count) }), { path, first, last: first });
}

by("unbracket").addEventListener("click", () => {
  const { path, first } = chosen;
  const inner = list(job.route, path)[first].route.length;
  change((all) => all.splice(first, 1, ...all[first].route), { path, first, last: first + inner - 1 });
});
