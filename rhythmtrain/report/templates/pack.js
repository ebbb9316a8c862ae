const all = (chosen) => [...document.querySelectorAll(chosen)];
const tracks = all("audio");
const buttons = all("button[data-plays]");
const boxes = all("input[data-tick]");
const player = document.getElementById("player");
const part = (name) => player.querySelector(`[data-part="${name}"]`);
const [name, tempo, place, time, loop, stop] = ["name", "tempo", "place", "time", "loop", "stop"].map(part);
let current = null;

document.body.classList.add("scripted");
buttons.forEach((button) => { button.hidden = false; });

function clock(seconds) {
  const whole = Math.floor(seconds || 0);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

function draw() {
  buttons.forEach((button) => {
    const track = document.getElementById(button.dataset.plays);
    button.setAttribute("aria-pressed", String(track === current && !track.paused));
  });
  if (!current) return;
  player.hidden = false;
  stop.textContent = current.paused ? "Play" : "Pause";
  const length = Number.isFinite(current.duration) ? current.duration : 0;
  place.max = length || 1;
  place.value = current.currentTime;
  place.setAttribute("aria-valuetext", `${clock(current.currentTime)} of ${clock(length)}`);
  time.textContent = `${clock(current.currentTime)} of ${clock(length)}`;
}

function play(track) {
  if (track !== current) {
    tracks.forEach((other) => { if (other !== track) other.pause(); });
    current = track;
    current.currentTime = 0;
    name.textContent = track.dataset.name;
    tempo.textContent = track.dataset.tempo;
  }
  track.loop = loop.checked;
  track.play().catch(() => {});
}

function turn(track) {
  if (track === current && !track.paused) track.pause();
  else play(track);
}

buttons.forEach((button) => {
  button.addEventListener("click", () => turn(document.getElementById(button.dataset.plays)));
});
stop.addEventListener("click", () => { if (current) turn(current); });
loop.addEventListener("change", () => { if (current) current.loop = loop.checked; });
place.addEventListener("input", () => { if (current) current.currentTime = Number(place.value); });
tracks.forEach((track) => {
  ["play", "pause", "ended", "timeupdate", "loadedmetadata"].forEach((what) => track.addEventListener(what, draw));
  track.addEventListener("error", () => {
    if (track !== current) return;
    name.textContent = "This track is not there.";
    tempo.textContent = "Keep this page and its folders together.";
    draw();
  });
});

const shelf = (() => {
  try {
    window.localStorage.getItem("");
    return window.localStorage;
  } catch (_) {
    return null;
  }
})();
const key = (box) => `rhythmtrain ${window.location.pathname} ${box.dataset.tick}`;

function keep(box) {
  try {
    if (shelf && box.checked) shelf.setItem(key(box), "done");
    else if (shelf) shelf.removeItem(key(box));
  } catch (_) {
    // A full or closed store: the ticks last as long as the page.
  }
}

function tell() {
  all(".passage").forEach((passage) => {
    const its = [...passage.querySelectorAll("input[data-tick]")];
    const done = its.filter((box) => box.checked).length;
    passage.querySelectorAll(".how-far").forEach((words) => {
      words.textContent = done ? `${done} of ${its.length} done` : "";
    });
  });
}

boxes.forEach((box) => {
  box.checked = Boolean(shelf && shelf.getItem(key(box)));
  box.addEventListener("change", () => { keep(box); tell(); });
});
tell();

const afresh = document.getElementById("afresh");
afresh.hidden = false;
afresh.addEventListener("click", () => {
  if (!window.confirm("Take all ticks away?")) return;
  boxes.forEach((box) => { box.checked = false; keep(box); });
  tell();
});

let closed = [];
window.addEventListener("beforeprint", () => {
  closed = all("details:not([open])");
  closed.forEach((passage) => { passage.open = true; });
});
window.addEventListener("afterprint", () => closed.forEach((passage) => { passage.open = false; }));
