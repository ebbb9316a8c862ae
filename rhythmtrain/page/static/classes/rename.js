// Another name for a student: recordings, page and the teacher's line stay theirs.

import { post } from "../ask.js";
import { choices, labelled, make, trying } from "../parts.js";

// `way` leads to the class, `students` are names; `onrenamed` is told the new one.
export function renaming(way, students, onrenamed) {
  let student = students[0];
  const name = make("input", { type: "text", maxlength: 120, size: 20, autocomplete: "off", value: student });
  const which = choices(students.map((each) => [each, each]), student, (value) => { student = value; name.value = value; });
  const rename = trying(async () => {
    const told = await post(`${way}/rename`, { student, name: name.value });
    await onrenamed(told.student);
  });
  return make("details", {}, make("summary", {}, "Another name for a student"),
    make("form", { class: "row", onsubmit: (event) => { event.preventDefault(); rename(); } },
      students.length > 1 ? labelled("Student", which) : "", labelled("Is called", name), make("button", {}, "Rename")));
}
