// Writing to the page only what is another than before: the rest is neither styled nor laid out again.

// An attribute.
export function put(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

// A class.
export function flag(element, name, on) {
  if (element.classList.contains(name) !== on) element.classList.toggle(name, on);
}

// The text of an element that holds nothing else.
export function say(element, text) {
  if (element.textContent === text) return;
  if (element.firstChild && !element.firstElementChild && !element.firstChild.nextSibling) element.firstChild.data = text;
  else element.textContent = text;
}
