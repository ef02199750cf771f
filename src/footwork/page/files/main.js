// The page as a whole: its buttons, what is told and asked, and its end.

import { hear, tell } from "./talk.js";
import "./plan.js";
import "./panel.js";
import "./make.js";
import "./jobs.js";
import "./recover.js";
import "./spots.js";
import "./better.js";

const by = (id) => document.getElementById(id);
let asked = null;
let closing = false;
let toldAt = null;

by("undo").addEventListener("click", () => tell({ do: "undo" }));
by("redo").addEventListener("click", () => tell({ do: "redo" }));
by("save").addEventListener("submit", (event) => {
  event.preventDefault();
  say("");
  tell({ do: "save", name: by("save-name").value, agreed: [] });
});
by("close").addEventListener("click", () => {
  if (document.body.classList.contains("unsaved")) ask("What was changed is not saved. Close all the same? It is kept, and offered when the file is opened again.", "close");
  else close();
});

function close() {
  closing = true;
  tell({ do: "close" });
}

function say(text, fault = false) {
  by("told").textContent = text;
  by("told").classList.toggle("fault", fault);
}

function ask(text, kind, message = null) {
  asked = { kind, message };
  by("ask-text").textContent = text;
  by("ask").hidden = false;
  by("ask-no").focus();
}

by("ask-no").addEventListener("click", () => { by("ask").hidden = true; });
by("ask-yes").addEventListener("click", () => {
  by("ask").hidden = true;
  if (asked.kind === "close") close();
  else tell({ do: "save", name: asked.message.name, agreed: [...asked.message.agreed, asked.kind] });
});

hear("told", (message) => {
  say(message.text, message.fault);
  toldAt = null;
});
// What was told stands until something else is done.
hear("placed", (message) => {
  if (toldAt !== null && message.revision !== toldAt) say("");
  toldAt = message.revision;
});
hear("ask", (message) => ask(message.text, message.kind, message));
hear("elsewhere", () => over("This plan has been opened in another page, which goes on with it."));
hear("gone", () => over(closing ? "Closed. This page can be shut." : "The program has ended. What was not saved is kept, and offered when the file is opened again."));

function over(text) {
  if (!by("over").hidden) return;
  by("over").hidden = false;
  by("over").firstElementChild.textContent = text;
}
