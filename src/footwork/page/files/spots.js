// Where would it go?  The spots of the thing that is chosen, over the plan, and the best of them in words.

import { hear, tell } from "./talk.js";
import { draw, movable } from "./plan.js";

const SVG = "http://www.w3.org/2000/svg";
const by = (id) => document.getElementById(id);
const svg = by("plan");
const layer = by("spots");
const squares = document.createElementNS(SVG, "g");
const marks = document.createElementNS(SVG, "g");
layer.append(squares, marks);
let on = false;
let question = 0; // the one that is shown, or being answered
let thing = null;
let grid = null;
let best = null; // column and row of the best spot
let cursor = null; // column and row that are looked at
let flying = false; // whether a question about one square is on its way
let putting = false; // whether what is found in the square at the cursor is to be stood there

function button() {
  const free = movable();
  by("spots-button").disabled = free.length !== 1;
  by("spots-button").setAttribute("aria-pressed", String(on));
  by("spots-panel").hidden = !on;
}

function toggle(to = !on) {
  on = to;
  if (!on) clear();
  else by("spots-words").textContent = movable().length === 1 ? "looking …" : "Choose one thing that can be moved.";
  tell({ do: "spots", on });
  button();
}

by("spots-button").addEventListener("click", () => toggle());
by("spots-close").addEventListener("click", () => {
  toggle(false);
  by("spots-button").focus();
});

hear("plan", () => { on = false; clear(); button(); });
hear("placed", button);

function clear() {
  grid = best = cursor = thing = null;
  putting = false;
  squares.replaceChildren();
  marks.replaceChildren();
  for (const name of ["tabindex", "role", "aria-label", "aria-describedby"]) layer.removeAttribute(name);
  for (const id of ["spots-best", "spots-legend"]) by(id).replaceChildren();
  by("spots-here").textContent = "";
}

hear("spots asked", (message) => {
  question = message.question;
  flying = false;
  layer.classList.add("stale");
  by("spots-panel").classList.add("stale");
  if (message.thing !== null && message.thing !== thing) {
    clear();
    by("spots-words").textContent = "looking …";
  }
});

hear("spots over", () => {
  clear();
  by("spots-words").textContent = "Choose one thing that can be moved.";
});

hear("spots", (message) => {
  if (message.question !== question || !on) return;
  layer.classList.remove("stale");
  by("spots-panel").classList.remove("stale");
  by("spots-panel").dataset.done = message.done ?? true;
  if (message.fault) {
    clear();
    by("spots-words").textContent = message.fault;
    return;
  }
  thing = message.thing;
  grid = message.grid;
  draw(squares, message.svg);
  layer.setAttribute("tabindex", "0");
  layer.setAttribute("role", "application");
  layer.setAttribute("aria-label", `Spots for ${thing}: arrow keys go from square to square, Enter puts it there`);
  layer.setAttribute("aria-describedby", "spots-here");
  best = message.best.length ? [message.best[0].column, message.best[0].row] : null;
  by("spots-words").textContent = message.words;
  by("spots-best").replaceChildren(...message.best.map(listed));
  by("spots-legend").replaceChildren(...message.legend.map(sample));
  if (cursor) look(...cursor);
});

function listed(spot) {
  const item = document.createElement("li");
  const put = document.createElement("button");
  put.type = "button";
  put.textContent = `${spot.where}: ${spot.words}`;
  put.addEventListener("click", () => stand(spot.place));
  const point = () => { cursor = [spot.column, spot.row]; frame(spot); };
  put.addEventListener("pointerenter", point);
  put.addEventListener("focus", point);
  item.append(put);
  return item;
}

function sample(each) {
  const item = document.createElement("li");
  const picture = document.createElementNS(SVG, "svg");
  picture.setAttribute("viewBox", "0 0 6 4");
  picture.setAttribute("aria-hidden", "true");
  draw(picture, each.svg);
  item.append(picture, document.createTextNode(each.words));
  return item;
}

function stand(place) {
  by("spots-here").textContent = "";
  tell({ do: "stand", places: { [thing]: place } });
}

// The square at the cursor

function look(column, row) {
  const within = (value, most) => Math.min(Math.max(value, 0), most - 1);
  cursor = [within(column, grid.columns), within(row, grid.rows)];
  frame(null);
  if (flying) return;
  flying = true;
  tell({ do: "spot", column: cursor[0], row: cursor[1] });
}

hear("spot", (message) => {
  if (message.question !== question || !cursor || !grid) return;
  flying = false;
  if (message.column !== cursor[0] || message.row !== cursor[1]) {
    look(...cursor); // it has gone on meanwhile
    return;
  }
  by("spots-here").textContent = message.possible ? `${message.where}: ${message.words}` : message.words;
  frame(message);
  if (putting && message.possible) stand(message.place);
  putting = false;
});

// A frame round the square at the cursor, and the outline of the thing as it would stand there.
function frame(spot) {
  marks.replaceChildren();
  const box = document.createElementNS(SVG, "rect");
  const [column, row] = cursor;
  for (const [name, value] of Object.entries({
    x: grid.x + column * grid.side, y: grid.y - (row + 1) * grid.side, width: grid.side, height: grid.side,
  })) box.setAttribute(name, value);
  box.classList.add("at");
  marks.append(box);
  const outline = spot?.at && document.querySelector(`.body[data-thing="${CSS.escape(thing)}"] .hold path`);
  if (!outline) return;
  const ghost = document.createElementNS(SVG, "path");
  const [x, y, turn] = spot.at;
  ghost.setAttribute("d", outline.getAttribute("d"));
  ghost.setAttribute("transform", `translate(${x} ${y}) rotate(${turn})`);
  ghost.classList.add("ghost");
  ghost.classList.toggle("not", !spot.where);
  marks.append(ghost);
}

function cell(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [Math.floor((point.x - grid.x) / grid.side), Math.floor((grid.y - point.y) / grid.side)];
}

const isFloor = ([column, row]) => column >= 0 && row >= 0 && column < grid.columns && row < grid.rows;

svg.addEventListener("pointermove", (event) => {
  if (!on || !grid || svg.classList.contains("held")) return;
  const [column, row] = cell(event);
  if (isFloor([column, row]) && (column !== cursor?.[0] || row !== cursor?.[1])) look(column, row);
});

// Before the plan sees it: a click on a spot puts the thing there, one on free floor is told why not.
svg.addEventListener("pointerdown", (event) => {
  if (!on || !grid || event.button !== 0 || svg.classList.contains("picking")) return;
  const spot = event.target.closest("#spots [data-square]");
  const other = event.target.closest(".body, #handle circle, #clear [data-side]");
  if (!spot && (other || !isFloor(cell(event)))) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const [column, row] = spot ? spot.dataset.square.split(" ").map(Number) : cell(event);
  putting = spot !== null;
  look(column, row);
}, true);

const WAYS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

layer.addEventListener("focus", () => {
  if (!grid) return;
  look(...(cursor ?? best ?? [0, 0]));
});
layer.addEventListener("keydown", (event) => {
  if (!grid || event.ctrlKey || event.metaKey || event.altKey) return;
  const [dx, dy] = WAYS[event.key] ?? [0, 0];
  if (dx || dy) look(cursor[0] + dx, cursor[1] + dy);
  else if (event.key === "Enter" || event.key === " ") {
    putting = true;
    look(...cursor);
  } else return;
  event.preventDefault();
  event.stopPropagation();
});

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key.toLowerCase() === "w" && (on || !by("spots-button").disabled)) {
    event.preventDefault();
    toggle();
  }
});
