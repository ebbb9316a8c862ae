// Small parts of a page: an element with what is in it, a field with its label, a sentence that is said.

export function make(tag, attributes = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key in element && key !== "list" && typeof value !== "string") element[key] = value;
    else if (value !== null && value !== undefined && value !== false) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...inside.flat(Infinity).filter((each) => each !== null && each !== undefined && each !== ""));
  return element;
}

let names = 0;

export function labelled(words, field, hint = "") {
  field.id = field.id || `field-${(names += 1)}`;
  return make("span", { class: "pair" }, make("label", { for: field.id }, words), field, hint);
}

export function choices(pairs, chosen, onchange) {
  const field = make("select", { onchange: () => onchange(field.value) });
  for (const [value, words] of pairs) {
    field.append(make("option", { value, selected: String(value) === String(chosen) }, words));
  }
  return field;
}

export function tick(words, checked, onchange) {
  const box = make("input", { type: "checkbox", checked, onchange: () => onchange(box.checked) });
  return make("label", { class: "pair" }, box, words);
}

let silence = null;

export function say(words, seconds = 9) {
  const place = document.getElementById("say");
  place.textContent = words;
  clearTimeout(silence);
  if (words) silence = setTimeout(() => { place.textContent = ""; }, seconds * 1000);
}

// Does what is asked and says in one sentence why it could not be done.
export function trying(action) {
  return async (...given) => {
    try {
      return await action(...given);
    } catch (error) {
      say(error.message, 20);
      console.warn(error);
      return null;
    }
  };
}
