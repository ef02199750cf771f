// The plan: shows where the program says that things stand, and tells it what the hand does.

import { flag, put } from "./put.js";
import { forgetDrag, hear, tell, tellDrag } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
const svg = document.getElementById("plan");
const layers = Object.fromEntries(["ground", "walk", "names", "clear", "handle"].map((id) => [id, document.getElementById(id)]));
let things = new Map(); // by name: what the program told, and the groups
let perMetre = 1;
let places = {};
let namedAt = {}; // where things stood when the names were placed
let chosen = [];
let hand = null;
let origin = [0, 0]; // millimetres at which the room's 0, 0 lies
let picking = null; // who is told of clicks, while something is being made

// While something is being made clicks are for its maker: the name of what was clicked, and metres in the room.
export function pick(listener) {
  picking = listener;
  document.body.classList.toggle("picking", listener !== null);
}

export const movable = () => chosen.filter((name) => !things.get(name).fixed);

// Markup of the program's own board, which escapes what it writes; nothing of it can run on this page.
export function draw(layer, markup) {
  const found = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${markup}</svg>`, "image/svg+xml").documentElement;
  layer.replaceChildren(...[...found.childNodes].map((node) => document.importNode(node, true)));
}

const drawn = new WeakMap(); // by layer that is drawn again and again: the markup that is there

export function redraw(layer, markup) {
  if (drawn.get(layer) === markup) return;
  drawn.set(layer, markup);
  draw(layer, markup);
}

hear("plan", (message) => {
  svg.setAttribute("viewBox", message.view_box);
  perMetre = message.per_metre;
  origin = message.origin;
  const focused = document.activeElement?.closest?.(".body")?.dataset.thing;
  things = new Map(message.things.map((thing) => [thing.name, { ...thing, groups: [] }]));
  chosen = chosen.filter((name) => things.has(name));
  draw(layers.ground, message.svg);
  for (const group of layers.ground.querySelectorAll("[data-thing]")) {
    const thing = things.get(group.dataset.thing);
    thing.groups.push(group);
    if (!group.classList.contains("body")) continue;
    group.classList.toggle("fixed", thing.fixed);
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.setAttribute("aria-label", thing.fixed ? `${thing.shown}, fixed` : thing.shown);
    thing.body = group;
  }
  things.get(focused)?.body.focus();
});

hear("placed", (message) => {
  places = message.places;
  chosen = message.chosen;
  for (const [name, thing] of things) {
    const [x, y, turn] = places[name];
    for (const group of thing.groups) {
      put(group, "transform", `translate(${x} ${y}) rotate(${turn})`);
      flag(group, "gone", message.out.includes(name));
    }
    flag(thing.body, "chosen", chosen.includes(name));
    put(thing.body, "aria-pressed", String(chosen.includes(name)));
  }
  carryNames();
  redraw(layers.clear, message.clear_svg);
  drawHandle();
});

hear("names", (message) => {
  draw(layers.names, message.svg);
  namedAt = message.places;
  carryNames();
});

// Until they are placed anew, names go along with their things.
function carryNames() {
  for (const group of layers.names.querySelectorAll("[data-name]")) {
    const now = places[group.dataset.name];
    const then = namedAt[group.dataset.name];
    if (!now || !then) continue;
    if (now[0] !== then[0] || now[1] !== then[1] || group.hasAttribute("transform")) {
      put(group, "transform", `translate(${now[0] - then[0]} ${now[1] - then[1]})`);
    }
  }
}

// Give the things of these names a class, and take it from all others.
export function mark(kind, names) {
  for (const [name, thing] of things) flag(thing.body, kind, names.includes(name));
}

const handle = document.createElementNS(SVG, "g");
handle.append(document.createElementNS(SVG, "path"), document.createElementNS(SVG, "circle"));
handle.lastChild.setAttribute("r", 1.8);

function drawHandle() {
  if (chosen.length !== 1 || things.get(chosen[0]).fixed) {
    handle.remove();
    return;
  }
  const thing = things.get(chosen[0]);
  const [x, y, turn] = places[thing.name];
  const out = thing.front * perMetre + 6;
  put(handle, "transform", `translate(${x} ${y}) rotate(${turn})`);
  put(handle.firstChild, "d", `M0 ${out - 6}V${out - 1.8}`);
  put(handle.lastChild, "cy", String(out));
  if (!handle.parentNode) layers.handle.append(handle);
}

// The hand

// A finger is wider than the circle.
function onHandle(event) {
  const box = layers.handle.querySelector("circle")?.getBoundingClientRect();
  if (!box) return false;
  const away = Math.hypot(event.clientX - box.x - box.width / 2, event.clientY - box.y - box.height / 2);
  return away <= (event.pointerType === "touch" ? 18 : box.width / 2 + 1);
}

function at(event, matrix) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
  return [point.x, point.y];
}

svg.addEventListener("pointerdown", (event) => {
  if (event.button !== 0 || hand) return;
  const side = event.target.closest("#clear [data-side]")?.dataset.side;
  if (side) {
    event.preventDefault();
    document.getElementById(`side-${side}`)?.select();
    return;
  }
  if (picking) {
    event.preventDefault();
    const [x, y] = at(event, svg.getScreenCTM().inverse());
    picking(event.target.closest(".body")?.dataset.thing ?? null, [(x - origin[0]) / perMetre, (origin[1] - y) / perMetre]);
    return;
  }
  document.activeElement?.blur?.();
  const turns = onHandle(event);
  const name = turns ? chosen[0] : event.target.closest(".body")?.dataset.thing;
  if (!name) {
    if (!event.shiftKey && !several()) tell({ do: "choose", names: [] });
    return;
  }
  event.preventDefault();
  if (!turns) choose(name, event.shiftKey || several());
  if (things.get(name).fixed || !chosen.includes(name)) return;
  const matrix = svg.getScreenCTM().inverse(); // the plan stays where it is while something is in the hand
  hand = { turns, name, names: movable(), matrix, from: at(event, matrix), moved: false, start: [event.clientX, event.clientY], seen: [], told: 0 };
  svg.setPointerCapture(event.pointerId);
});

const several = () => document.getElementById("several").checked;

// The page knows what is chosen before the program has answered: the drag that follows needs it.
function choose(name, more) {
  if (more) chosen = chosen.includes(name) ? chosen.filter((each) => each !== name) : [...chosen, name];
  else if (!chosen.includes(name)) chosen = [name];
  tell({ do: "choose", names: chosen });
}

// A pointer is told of as it moves, where the browser does that, and once more before each frame.
const OFTEN = 12; // milliseconds between two of them
svg.addEventListener("pointerrawupdate", (event) => {
  if (hand && event.timeStamp >= hand.told + OFTEN) move(event);
});
svg.addEventListener("pointermove", (event) => {
  if (hand && (event.clientX !== hand.seen[0] || event.clientY !== hand.seen[1])) move(event);
});

function move(event) {
  hand.told = event.timeStamp;
  hand.seen = [event.clientX, event.clientY];
  const [left, top] = hand.start;
  if (!hand.moved && Math.hypot(event.clientX - left, event.clientY - top) < 3) return;
  hand.moved = true;
  svg.classList.add("held");
  const [x, y] = at(event, hand.matrix);
  if (hand.turns) {
    const [cx, cy] = places[hand.name];
    const bearing = (Math.atan2(x - cx, cy - y) * 180) / Math.PI;
    tellDrag({ do: "turn towards", name: hand.name, bearing: (bearing + 360) % 360, free: event.altKey });
  } else {
    const [dx, dy] = [(x - hand.from[0]) / perMetre, (hand.from[1] - y) / perMetre];
    tellDrag({ do: "drag", names: hand.names, dx, dy, free: event.altKey });
  }
}

function letGo(message) {
  if (!hand) return;
  if (hand.moved) tell({ do: message });
  hand = null;
  svg.classList.remove("held");
}

svg.addEventListener("pointerup", () => letGo("drop"));
svg.addEventListener("pointercancel", () => letGo("give up"));

const WAYS = { ArrowUp: "north", ArrowDown: "south", ArrowLeft: "west", ArrowRight: "east" };

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea")) return;
  const command = event.ctrlKey || event.metaKey;
  const key = event.key.toLowerCase();
  if (command && key === "z") tell({ do: event.shiftKey ? "redo" : "undo" });
  else if (command && key === "y") tell({ do: "redo" });
  else if (command || event.altKey) return;
  else if (key === "escape") putDown();
  else if (key === "r" && movable().length) tell({ do: "turn", names: movable(), degrees: event.shiftKey ? -90 : 90 });
  else if (WAYS[event.key] && movable().length) {
    tell({ do: "nudge", names: movable(), way: WAYS[event.key], far: event.shiftKey });
  } else if ((key === "enter" || key === " ") && event.target.closest(".body")) {
    const name = event.target.closest(".body").dataset.thing;
    if (picking) picking(name, null);
    else choose(name, event.shiftKey || several());
  } else return;
  event.preventDefault();
});

function putDown() {
  if (hand) {
    forgetDrag();
    letGo("give up");
  } else tell({ do: "choose", names: [] });
}
