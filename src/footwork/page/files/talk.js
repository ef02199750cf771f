// The conversation with the program: messages out in order, of drags only the newest.

const listeners = {};
if (document.readyState !== "complete") await new Promise((done) => { window.addEventListener("load", done); }); // how large the plan is
const space = () => {
  const { width, height } = document.getElementById("plan").getBoundingClientRect();
  return { wide: Math.round(width), tall: Math.round(Math.max(height, 0.75 * window.innerHeight)) };
};
const socket = new WebSocket(new URL(`talk?${new URLSearchParams(space())}`, location.href.replace(/^http/, "ws")));
let number = 0;
let drag = null; // what the hand asks for next
let flying = 0; // the number of the drag that is not answered yet

socket.addEventListener("message", (event) => {
  const message = JSON.parse(event.data);
  if (message.say === "placed" && message.heard === flying) {
    flying = 0;
    flush();
  }
  for (const listener of listeners[message.say] ?? []) listener(message);
  if (message.heard) document.body.dataset.answered = message.heard;
});
socket.addEventListener("close", () => {
  for (const listener of listeners.gone ?? []) listener({});
});

export function hear(say, listener) {
  (listeners[say] ??= []).push(listener);
}

// On a small screen the plan is drawn for it: names keep their size.
let drawn = space().wide;
let turning = 0;
window.addEventListener("resize", () => {
  clearTimeout(turning);
  turning = setTimeout(() => {
    const { wide, tall } = space();
    if (Math.abs(wide - drawn) < 20) return;
    drawn = wide;
    tell({ do: "screen", wide, tall });
  }, 200);
});

export function tell(message) {
  flush(true);
  send(message);
}

// A drag or a turn by the handle: while one is on its way the next waits, and a newer one takes its place.
export function tellDrag(message) {
  drag = message;
  flush();
}

// Forget what the hand still asked for.
export function forgetDrag() {
  drag = null;
}

function flush(now = false) {
  if (drag === null || (flying && !now)) return;
  const message = drag;
  drag = null;
  flying = send(message);
}

function send(message) {
  number += 1;
  document.body.dataset.asked = number;
  if (socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify({ ...message, n: number }));
  return number;
}
