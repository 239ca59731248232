// The clock of a lesson, and results tapped group by group. Both outlast a tablet that falls asleep.

const lesson = document.querySelector(".lesson");
const place = `rungwright.lesson.${lesson.dataset.plan}`;
const state = JSON.parse(localStorage.getItem(place) || "{}");
const keep = () => localStorage.setItem(place, JSON.stringify(state));

document.documentElement.classList.add("script");

// The clock: which lesson and part, and when that part ends.
const clock = document.querySelector(".clock");

function parts() {
  return [...document.querySelectorAll(`[data-lesson="${state.lesson}"] li`)];
}

function begin(part) {
  const all = parts();
  if (part >= all.length) {
    delete state.ends;
    state.part = all.length;
  } else {
    state.part = part;
    state.began = Date.now();
    state.ends = state.began + Number(all[part].dataset.minutes) * 60_000;
  }
  keep();
  show();
}

function show() {
  const on = state.lesson !== undefined;
  clock.hidden = !on;
  for (const item of document.querySelectorAll(".parts li")) item.removeAttribute("aria-current");
  if (!on) return;
  const all = parts();
  const part = all[state.part];
  const words = (item) => item.firstElementChild.textContent;
  clock.querySelector("[data-part]").textContent = part ? words(part) : "The lesson is over";
  const next = all[state.part + 1];
  clock.querySelector("[data-then]").textContent = part ? (next ? `Then: ${words(next)}` : "Then the lesson is over") : "";
  if (part) part.setAttribute("aria-current", "step");
  tick();
}

// Who is called to which test, and who is next: by the minutes since the part began.
function turns() {
  const calls = JSON.parse(parts()[state.part]?.dataset.calls || "[]");
  const minutes = (Date.now() - state.began) / 60_000;
  const at = (time) => calls.filter(([start]) => start === time).map(([, who]) => who).join(", ");
  const now = Math.max(...calls.map(([start]) => start).filter((start) => start <= minutes));
  const next = Math.min(...calls.map(([start]) => start).filter((start) => start > minutes));
  const said = [];
  if (Number.isFinite(now)) said.push(`Now: ${at(now)}.`);
  if (Number.isFinite(next)) said.push(`Next: ${at(next)}.`);
  const place = clock.querySelector("[data-turns]");
  place.hidden = !said.length;
  place.textContent = said.join("\n");
}

function tick() {
  turns();
  const left = clock.querySelector("[data-left]");
  if (!state.ends) {
    left.textContent = "";
    return;
  }
  const seconds = Math.round((state.ends - Date.now()) / 1000);
  const whole = Math.abs(seconds);
  const said = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  left.textContent = seconds < 0 ? `${said} over` : said;
  left.classList.toggle("over", seconds < 0);
}

document.addEventListener("click", (event) => {
  const act = event.target.dataset?.act;
  if (act === "start") {
    state.lesson = event.target.closest("[data-lesson]").dataset.lesson;
    begin(0);
  } else if (act === "next") begin(state.part + 1);
  else if (act === "longer" && state.ends) {
    state.ends = Math.max(state.ends, Date.now()) + 120_000;
    keep();
    tick();
  } else if (act === "stop") {
    delete state.lesson;
    delete state.ends;
    keep();
    show();
  }
});
setInterval(tick, 1000);
show();

// Results: one group at a time; every tap is kept at once.
const live = document.getElementById("live");
if (live) {
  const groups = [...live.querySelectorAll(".group")];
  state.marks ??= {};
  for (const [name, value] of Object.entries(state.marks)) {
    const input = live.querySelector(`input[name="${CSS.escape(name)}"][value="${CSS.escape(value)}"]`);
    if (input) input.checked = true;
  }
  const go = (group) => {
    state.group = (group + groups.length) % groups.length;
    groups.forEach((part, i) => (part.hidden = i !== state.group));
    live.querySelector("[data-who]").textContent = `Group ${state.group + 1} of ${groups.length}`;
    keep();
  };
  live.addEventListener("click", (event) => {
    const by = event.target.dataset?.go;
    if (by) go(state.group + Number(by));
  });
  live.addEventListener("change", (event) => {
    state.marks[event.target.name] = event.target.value;
    keep();
  });
  live.addEventListener("submit", () => {
    delete state.marks;
    keep();
  });
  go(state.group ?? 0);
}
