// What could be lost: moves that were not saved, a file that was changed elsewhere or is broken.

import { hear, tell } from "./talk.js";
import { element } from "./make.js";

const by = (id) => document.getElementById(id);

hear("left", (message) => {
  by("left").hidden = !message.text;
  by("left-text").textContent = message.text;
  by("elsewhere").hidden = !message.elsewhere;
  by("elsewhere").textContent = message.elsewhere;
});
by("left-yes").addEventListener("click", () => tell({ do: "recover" }));
by("left-no").addEventListener("click", () => tell({ do: "throw away" }));
by("left-later").addEventListener("click", () => { by("left").hidden = true; });

hear("changed", (message) => {
  by("changed").hidden = !message.text;
  by("changed-text").textContent = message.text;
  by("changed-yes").hidden = !message.can;
});
by("changed-yes").addEventListener("click", () => {
  by("changed").hidden = true;
  tell({ do: "take up" });
});
by("changed-no").addEventListener("click", () => { by("changed").hidden = true; });

hear("faults", (message) => {
  document.body.classList.add("broken");
  document.title = `${message.file} · footwork`;
  by("title").textContent = message.file;
  by("broken-head").textContent = `${message.file} has ${message.faults.length === 1 ? "a fault" : `${message.faults.length} faults`}. The plan is shown here as soon as the file is mended and saved.`;
  by("faults").replaceChildren(...message.faults.map((fault) => {
    const item = element("li");
    const place = [fault.line ? `line ${fault.line}` : "", fault.where].filter(Boolean).join(": ");
    item.append(element("b", place ? `${place}: ` : ""), element("span", fault.mend ? `${fault.what}; ${fault.mend}` : fault.what));
    return item;
  }));
});
hear("plan", () => document.body.classList.remove("broken"));
