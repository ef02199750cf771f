// A search beside one's own moving: how it goes, the best so far as outlines, and what of it is taken.

import { hear, tell } from "./talk.js";
import { draw, movable } from "./plan.js";

const SVG = "http://www.w3.org/2000/svg";
const by = (id) => document.getElementById(id);
let plan = null;
let pins = [];
let moved = []; // what the best so far has elsewhere
let left = []; // the names of those that do not stand there yet
let shown = ""; // the outlines as they were told
let running = false;

// Pins

hear("plan", (message) => {
  plan = message;
  if (message.propose !== undefined) over("");
  showPins();
});
hear("pins", (message) => {
  pins = message.names;
  showPins();
});
hear("placed", pinButton);

function pinButton() {
  const free = movable();
  by("pin").disabled = !free.length;
  by("pin").setAttribute("aria-pressed", String(free.length > 0 && free.every((name) => pins.includes(name))));
}

function showPins() {
  for (const body of document.querySelectorAll("#ground .body")) {
    const name = body.dataset.thing;
    const thing = plan?.things.find((each) => each.name === name);
    const pinned = pins.includes(name) && !thing?.fixed;
    body.querySelector(".pin-mark")?.remove();
    if (thing && !thing.fixed) body.setAttribute("aria-label", pinned ? `${thing.shown}, pinned` : thing.shown);
    if (pinned) body.append(pinMark(body.querySelector(".hold path")));
  }
  pinButton();
}

// The head of a pin in a corner of the thing.
function pinMark(outline) {
  const box = outline.getBBox();
  const mark = document.createElementNS(SVG, "circle");
  const inset = Math.min(2.2, box.width / 3, box.height / 3);
  for (const [name, value] of Object.entries({ cx: box.x + inset, cy: box.y + inset, r: Math.min(1.2, inset) })) {
    mark.setAttribute(name, value);
  }
  mark.classList.add("pin-mark");
  return mark;
}

function togglePin() {
  const names = movable();
  if (names.length) tell({ do: "pin", names, on: !names.every((name) => pins.includes(name)) });
}

by("pin").addEventListener("click", togglePin);
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key.toLowerCase() !== "p" || !movable().length) return;
  event.preventDefault();
  togglePin();
});

// The search

by("search").addEventListener("submit", (event) => {
  event.preventDefault();
  const typed = by("search-moves").value.trim();
  const moves = typed === "" ? null : Number(typed);
  if (moves !== null && !(Number.isInteger(moves) && moves >= 1)) {
    by("search-told").hidden = false;
    by("search-words").textContent = "How many may move at most: a whole number, or nothing for any.";
    by("search-moves").focus();
    return;
  }
  over("");
  by("search-told").hidden = false;
  by("search-words").textContent = "beginning; the first time on a machine takes a minute or two";
  run(true);
  tell({ do: "search", moves, seconds: Number(by("search-seconds").value) });
});
by("search-stop").addEventListener("click", () => {
  by("search-words").textContent = "stopping …";
  tell({ do: "stop search" });
});

function run(on) {
  const focused = document.activeElement === by("search-stop");
  running = on;
  by("search-stop").hidden = !on;
  by("search-start").hidden = on;
  by("search-part").hidden = !on;
  if (focused && !on) by("search-start").focus();
  by("search-panel").dataset.running = on;
}

hear("search", (message) => {
  if (running !== message.running) run(message.running);
  by("search-told").hidden = false;
  by("search-part").value = message.part;
  // A screen reader is told of what is found, not of every second.
  by("search-words").setAttribute("aria-live", message.running ? "off" : "polite");
  by("search-words").textContent = message.words;
  by("search-words").classList.toggle("fault", message.fault);
  for (const what of ["best", "bound", "gap"]) by(`search-${what}`).textContent = message[what] || "…";
  moved = message.moved;
  left = moved.map((each) => each.name);
  outline(message.svg);
});
hear("search goals", (message) => outline(message.svg));

function outline(svg) {
  if (svg === shown) return;
  shown = svg;
  draw(by("goals"), shown);
  list();
}

hear("search left", (message) => {
  left = message.names;
  list();
});
hear("search over", (message) => over(message.words));

function over(words) {
  run(false);
  moved = left = [];
  shown = "";
  by("goals").replaceChildren();
  by("search-words").textContent = words;
  by("search-told").hidden = !words;
  list();
}

function list() {
  const waiting = moved.filter((each) => left.includes(each.name));
  const focused = document.activeElement?.closest?.("#search-moved li");
  by("search-moved").replaceChildren(...waiting.map(goal));
  if (focused) (by("search-moved").querySelector("button") ?? by("search-take")).focus();
  by("search-take").disabled = !waiting.length;
  for (const group of by("goals").querySelectorAll("[data-goal]")) {
    group.classList.toggle("taken", !left.includes(group.dataset.goal));
  }
}

function goal(each) {
  const item = document.createElement("li");
  const take = document.createElement("button");
  take.type = "button";
  take.textContent = `${each.shown}: ${each.where}`;
  take.addEventListener("click", () => stand([each]));
  item.append(take);
  return item;
}

function stand(these) {
  tell({ do: "stand", places: Object.fromEntries(these.map((each) => [each.name, each.place])) });
}

by("search-take").addEventListener("click", () => stand(moved.filter((each) => left.includes(each.name))));
by("search-forget").addEventListener("click", () => {
  tell({ do: "forget search" });
  by("search-start").focus();
});
