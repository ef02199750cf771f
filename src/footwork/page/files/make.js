// Making and changing the room and what is in it: one form at a time, beside the plan.  The program decides.

import { hear, tell } from "./talk.js";
import { pick } from "./plan.js";

const by = (id) => document.getElementById(id);
const LEFT = { east: "north", north: "west", west: "south", south: "east" };
const WAYS = ["east", "north", "west", "south"];
let plan = null;
let form = null; // what is open: its edit, the values it began with, what else goes along
let waiting = false; // for the answer to what was sent

export function element(kind, text = "", given = {}) {
  const made = document.createElement(kind);
  made.textContent = text;
  for (const [name, value] of Object.entries(given)) made.setAttribute(name, value);
  return made;
}

const PLACINGS = [["", "as is usual"], ["wall", "back to a wall"], ["island", "clear of the walls"], ["any", "anywhere"]];
const KINDS = [["", "post or other part of the building"], ["extinguisher", "extinguisher"], ["heater", "heater"], ["stove", "stove"], ["panel", "electrical panel"], ["socket", "socket"], ["tap", "tap"]];
const FACINGS = WAYS.map((way) => [way, way]);

// Key, label, kind: text, list of choices, flag, sides; what is to know about it.
const FIELDS = {
  doors: [["name", "Name", "text"], ["wall", "Wall", "walls"], ["from", "From the wall's first corner", "text"], ["width", "Width", "text"],
    ["swing", "Leaf", [["none", "rolls, slides or lifts"], ["in", "swings in"], ["out", "swings out"]]], ["height", "Clear height, if known", "text"],
    ["vehicle", "Vehicles use it", "flag"], ["exit", "A way out in an emergency", "flag"]],
  windows: [["name", "Name", "text"], ["wall", "Wall", "walls"], ["from", "From the wall's first corner", "text"], ["width", "Width", "text"], ["sill", "Height it begins at, if known", "text"]],
  fixtures: [["name", "Name", "text"], ["kind", "What it is", KINDS], ["wide", "Along its front", "text"], ["deep", "Front to back", "text"],
    ["east", "Its middle, to the east", "text"], ["north", "and to the north", "text"], ["facing", "Faces", FACINGS]],
  station: [["name", "Name", "text"], ["like", "Like, in the catalogue", "catalogue"], ["wide", "Along its front", "text"], ["deep", "Front to back", "text"],
    ["placing", "Stands", PLACINGS], ["stand", "Worked from its", "sides"], ["strip", "Floor to stand on", "text"], ["height", "Height", "text"]],
  vehicle: [["name", "Name", "text"], ["wide", "Width", "text"], ["deep", "Length", "text"], ["door", "Comes in by the door", "text"], ["inside", "Share of the time it is in, 0 to 1", "text"]],
};
const TITLES = { doors: "door", windows: "window", fixtures: "post or fixture", station: "station", vehicle: "vehicle" };
const NEW = { doors: { width: "0.90 m" }, windows: { width: "1.20 m" }, fixtures: {}, station: {}, vehicle: {} };
const HINTS = {
  doors: "Click its place on a wall of the plan, or choose the wall and type where it begins.",
  windows: "Click its place on a wall of the plan, or choose the wall and type where it begins.",
  fixtures: "Click its place on the plan, or type it. Without a size it hangs on a wall and takes no floor.",
  station: "Choose what it is like, or type its size; what you type wins. Click on the plan where it stands, or drag it there afterwards.",
  vehicle: "It comes and goes through a door that vehicles use.",
};

hear("plan", (message) => {
  plan = message;
  document.body.classList.toggle("roomless", message.roomless);
  if (message.catalogue) {
    by("catalogue").replaceChildren(...message.catalogue.map((each) => element("option", "", { value: each.name, label: `${each.name}  ${each.size}` })));
  }
  by("vehicle-new").hidden = !message.doors.some((door) => door.vehicle);
  for (const button of by("make").querySelectorAll("[data-make]")) button.disabled = message.roomless && button.dataset.make !== "room";
  listParts();
  if (message.roomless && form === null) openRoom();
});

function listParts() {
  const rows = ["doors", "windows", "fixtures"].flatMap((part) => plan[part].map((each, index) => partRow(part, each, index)));
  by("parts").replaceChildren(...rows);
  by("parts-box").hidden = !rows.length;
  by("parts-told").textContent = `Doors, windows and fixtures: ${rows.length}`;
}

function partRow(part, each, index) {
  const row = element("li");
  const change = element("button", each.name, { type: "button", class: "pick", "aria-label": `Change ${TITLES[part]} ${each.name}` });
  change.addEventListener("click", () => openForm(part, each, { edit: part === "fixtures" ? "fixture" : "opening", part, index }));
  const remove = element("button", "Delete", { type: "button", class: "small", "aria-label": `Delete ${each.name}` });
  remove.addEventListener("click", () => tell({ do: "edit", edit: "delete part", part, index }));
  const where = part === "fixtures" ? (each.kind || "fixture") : `${TITLES[part]} in wall ${each.wall}`;
  row.append(change, element("span", ` ${where} `), remove);
  return row;
}

// Forms

by("make").addEventListener("click", (event) => {
  const kind = event.target.closest("[data-make]")?.dataset.make;
  if (!kind) return;
  if (kind === "room") openRoom();
  else openForm(kind, NEW[kind], { edit: { fixtures: "fixture", doors: "opening", windows: "opening" }[kind] ?? kind, part: kind, new: true });
});

export function changeThing(name) {
  const each = plan.made.find((made) => made.members.includes(name));
  openForm(each.vehicle ? "vehicle" : "station", { ...each, placing: each.own?.includes("placing") ? each.placing : "" }, { edit: each.vehicle ? "vehicle" : "station" });
}

function begin(title, hint) {
  by("form-title").textContent = title;
  by("form-hint").textContent = hint;
  by("form-fault").textContent = "";
  by("form").hidden = false;
  by("form-fields").replaceChildren();
}

function openForm(kind, values, message) {
  const changes = !message.new;
  begin(`${changes ? "Change" : "Make a"} ${TITLES[kind]}`, changes ? "" : HINTS[kind]);
  form = { kind, message, first: {} };
  if (changes && (kind === "station" || kind === "vehicle")) form.was = values.name;
  const ends = plan.walls[0]?.name === "south" ? "From the wall's west or south end" : "From the wall's first corner";
  for (const [key, label, of] of FIELDS[kind]) {
    by("form-fields").append(field(key, key === "from" ? ends : label, of, values[key]));
  }
  by("form-send").textContent = changes ? "Change it" : "Make it";
  for (const input of inputs()) form.first[input.dataset.key] = valueOf(input);
  pick(changes && kind !== "doors" && kind !== "windows" ? null : clicked);
  focusFirst();
}

// On a narrow screen right under the plan, which stays in sight.
export function reveal(part) {
  part.scrollIntoView({ block: window.matchMedia("(max-width: 60rem)").matches ? "start" : "nearest" });
}

function focusFirst() {
  const first = [...by("form-fields").querySelectorAll("input, select")].find((input) => !input.readOnly);
  reveal(by("form"));
  first?.focus({ preventScroll: true });
}

function field(key, label, of, value) {
  const row = element("div", "", { class: "field" });
  if (of === "sides") return sides(row, key, label, value ?? null);
  const id = `f-${key}`;
  let input;
  if (of === "walls" || Array.isArray(of)) {
    input = element("select");
    const choices = of === "walls" ? plan.walls.map((wall) => [wall.name, wall.shown]) : of;
    input.append(...choices.map(([word, shown]) => element("option", shown, { value: word })));
    if (value !== undefined) input.value = value;
  } else {
    input = element("input", "", { type: of === "flag" ? "checkbox" : "text", autocomplete: "off", spellcheck: "false" });
    if (of === "catalogue") input.setAttribute("list", "catalogue");
    if (of === "flag") input.checked = value === true;
    else input.value = value ?? "";
  }
  input.id = id;
  input.dataset.key = key;
  row.append(element("label", label, { for: id }), input);
  return row;
}

// On which sides one works; untouched, as is usual.
function sides(row, key, label, value) {
  const group = element("fieldset", "", { id: `f-${key}` });
  group.dataset.key = key;
  group.append(element("legend", label));
  for (const side of ["front", "back", "left", "right"]) {
    const name = element("label", "", { class: "switch" });
    const box = element("input", "", { type: "checkbox", value: side });
    box.checked = (value ?? ["front"]).includes(side);
    name.append(box, element("span", side));
    group.append(name);
  }
  row.append(group);
  return row;
}

const inputs = () => [...by("form-fields").querySelectorAll("[data-key]")];

function valueOf(input) {
  if (input.tagName === "FIELDSET") return [...input.querySelectorAll("input:checked")].map((box) => box.value);
  return input.type === "checkbox" ? input.checked : input.value;
}

// A click on the plan while a form is open: where it is to be.
function clicked(name, at) {
  if (!form || !at) return;
  if (form.kind === "doors" || form.kind === "windows") tell({ do: "at wall", at, width: by("f-width").value });
  else if (form.kind === "fixtures") {
    by("f-east").value = at[0].toFixed(2) + " m";
    by("f-north").value = at[1].toFixed(2) + " m";
  } else {
    form.message.at = at;
    by("form-hint").textContent = "It will stand where you clicked.";
  }
}

hear("at wall", (message) => {
  if (!form || !by("f-wall")) return;
  by("f-wall").value = message.wall;
  by("f-from").value = message.from;
});

by("form").addEventListener("submit", (event) => {
  event.preventDefault();
  const message = { do: "edit", ...form.message };
  if (form.kind === "room") message.walls = walls();
  for (const input of form.kind === "room" ? [] : inputs()) {
    const [key, value] = [input.dataset.key, valueOf(input)];
    const same = JSON.stringify(value) === JSON.stringify(form.first[key]);
    if (key === "name" && form.was !== undefined) {
      message.name = form.was;
      if (!same) message.new_name = value;
    } else if (key === "name" || (form.message.new ? !same || (key !== "stand" && value !== "" && value !== false) : !same)) message[key] = value;
  }
  if (form.kind === "room" && by("f-units")) message.units = by("f-units").value;
  waiting = true;
  by("form-fault").textContent = "";
  tell(message);
});

hear("told", (message) => {
  if (!waiting || form === null) return;
  waiting = false;
  if (message.fault) {
    by("form-fault").textContent = message.text;
    return;
  }
  const again = form.message.new && form.kind !== "room" ? form.kind : null;
  close();
  if (again) by("make").querySelector(`[data-make="${again}"]`).focus();
  else by("make").querySelector("button").focus();
});

export function close() {
  form = null;
  by("form").hidden = true;
  pick(null);
}

by("form-cancel").addEventListener("click", () => {
  const kind = form.kind;
  close();
  (by("make").querySelector(`[data-make="${kind}"]`) ?? by("make").querySelector("button")).focus();
});
by("form").addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !(plan.roomless && form.kind === "room")) {
    event.stopPropagation();
    by("form-cancel").click();
  }
});

// The room, wall by wall

function openRoom() {
  begin(plan.roomless ? "The room" : "Change the room",
    "Type the inside length of one wall after the other, as you walk round the room. Of a rectangle two will do: what is missing is added.");
  form = { kind: "room", message: { edit: "walls" }, first: {} };
  if (plan.roomless) by("form-fields").append(field("units", "Lengths are in", [["m", "metres"], ["cm", "centimetres"], ["mm", "millimetres"], ["ft", "feet"], ["in", "inches"]], plan.units));
  const legs = plan.legs.length ? plan.legs : [{ length: "", way: "east" }, { length: "", way: "north" }];
  const list = element("ol", "", { id: "legs" });
  by("form-fields").append(list);
  legs.forEach((leg, k) => addLeg(leg, plan.legs.length ? k : null));
  const add = element("button", "Add a wall", { type: "button", id: "leg-add" });
  add.addEventListener("click", () => { addLeg(null, null).querySelector("input").focus(); });
  const drop = element("button", "Take the last away", { type: "button", id: "leg-drop" });
  drop.addEventListener("click", () => { if (list.children.length > 1) list.lastChild.remove(); trace(); });
  const tools = element("div", "", { class: "tools" });
  tools.append(add, drop);
  const sketch = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  sketch.id = "sketch";
  sketch.setAttribute("aria-hidden", "true");
  by("form-fields").append(tools, sketch, element("p", "", { id: "traced", role: "status" }));
  by("f-units")?.addEventListener("change", trace);
  by("form-send").textContent = plan.roomless ? "Make the room" : "Change the room";
  pick(null);
  trace();
  if (plan.roomless) by("leg-1").focus();
  else focusFirst();
}

function addLeg(leg, same) {
  const list = by("legs");
  const k = list.children.length + 1;
  const before = list.lastElementChild?.querySelector("select").value ?? "south";
  const way = leg?.way ?? LEFT[before] ?? "east";
  const row = element("li");
  const length = element("input", "", { id: `leg-${k}`, type: "text", autocomplete: "off", "aria-label": `Wall ${k}: length` });
  length.value = leg?.length ?? "";
  const go = element("select", "", { "aria-label": `Wall ${k}: which way` });
  go.append(...WAYS.map((word) => element("option", word, { value: word })), element("option", "at an angle", { value: "degrees" }));
  const degrees = element("input", "", { type: "text", class: "degrees", "aria-label": `Wall ${k}: degrees clockwise from north`, placeholder: "45°" });
  go.value = WAYS.includes(way) ? way : "degrees";
  degrees.value = WAYS.includes(way) ? "" : way;
  degrees.hidden = go.value !== "degrees";
  const as = same === null ? "" : JSON.stringify([length.value, go.value, degrees.value]);
  row.dataset.as = as;
  row.dataset.same = same ?? "";
  go.addEventListener("change", () => { degrees.hidden = go.value !== "degrees"; trace(); });
  length.addEventListener("input", trace);
  degrees.addEventListener("input", trace);
  length.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !length.value.trim()) return;
    event.preventDefault(); // the next wall; an empty one makes the room
    (row.nextElementSibling ?? addLeg(null, null)).querySelector("input").focus();
  });
  row.append(length, element("span", "going"), go, degrees);
  list.append(row);
  return row;
}

function walls() {
  return [...by("legs").children].flatMap((row) => {
    const [length, degrees] = [...row.querySelectorAll("input")].map((input) => input.value);
    const way = row.querySelector("select").value;
    if (row.dataset.same !== "" && row.dataset.as === JSON.stringify([length, way, degrees])) return [{ same: Number(row.dataset.same) }];
    return length.trim() ? [{ length, way: way === "degrees" ? degrees : way }] : [];
  });
}

function trace() {
  if (!by("legs")) return;
  if (walls().length < 2) {
    by("traced").textContent = "";
    by("sketch").replaceChildren();
    return;
  }
  tell({ do: "walls", walls: walls(), units: by("f-units")?.value ?? plan.units });
}

hear("walls", (message) => {
  const sketch = by("sketch");
  if (!sketch) return;
  by("traced").textContent = message.text;
  sketch.replaceChildren();
  if (!message.corners.length) return;
  const [xs, ys] = [0, 1].map((k) => message.corners.map((at) => at[k]));
  const [left, right, low, high] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const edge = 0.05 * Math.max(right - left, high - low);
  sketch.setAttribute("viewBox", `${left - edge} ${-high - edge} ${right - left + 2 * edge} ${high - low + 2 * edge}`);
  const line = document.createElementNS("http://www.w3.org/2000/svg", "path");
  line.setAttribute("d", `M${message.corners.map(([x, y]) => `${x} ${-y}`).join("L")}Z`);
  sketch.append(line);
});

// What is chosen on the plan

by("thing-change").addEventListener("click", () => changeThing(by("thing").dataset.name));
by("thing-delete").addEventListener("click", remove);

function remove() {
  tell({ do: "edit", edit: "delete thing", name: by("thing").dataset.name });
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Delete" && !by("thing").hidden && by("thing").dataset.name && !event.target.closest("input, select, .chip")) remove();
});

hear("placed", (message) => {
  const one = message.chosen.length === 1;
  by("thing").dataset.name = one ? message.chosen[0] : "";
  by("thing-change").hidden = by("thing-delete").hidden = !one;
});
