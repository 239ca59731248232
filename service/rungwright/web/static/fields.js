// Steppers of number fields, and the search of a cupboard picker.

for (const button of document.querySelectorAll("[data-step]")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const input = button.parentElement.querySelector("input");
    const by = Number(button.dataset.step);
    const most = Number(input.max || Infinity);
    const next = Math.min(most, Math.max(Number(input.min || 0), (Number(input.value) || 0) + by));
    set(input, next);
  });
}

for (const button of document.querySelectorAll("[data-usual]")) {
  button.hidden = false;
  button.addEventListener("click", () => set(button.parentElement.querySelector("input"), button.dataset.usual));
}

function set(input, value) {
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

for (const picker of document.querySelectorAll("[data-picker]")) {
  const tools = picker.querySelector(".picker-tools");
  const search = tools.querySelector("input");
  const found = tools.querySelector("[data-found]");
  tools.hidden = false;
  search.addEventListener("input", () => {
    const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const line of picker.querySelectorAll(".pick")) {
      line.hidden = !words.every((word) => line.dataset.name.includes(word));
      count += line.hidden ? 0 : 1;
    }
    for (const group of picker.querySelectorAll("fieldset")) {
      group.hidden = !group.querySelector(".pick:not([hidden])");
    }
    found.textContent = words.length ? `${count} found` : "";
  });
  search.addEventListener("keydown", (event) => {
    if (event.key === "Enter") event.preventDefault();
  });
  picker.addEventListener("change", (event) => {
    // Who puts down what there is means it.
    if (!event.target.name?.startsWith("m.")) return;
    const own = document.querySelector('input[name="from"][value="own"]');
    if (own) own.checked = true;
  });
}

for (const part of document.querySelectorAll("[data-opened-by]")) {
  const [name, value] = part.dataset.openedBy.split("=");
  document.addEventListener("change", (event) => {
    if (event.target.name === name && event.target.value === value) part.open = true;
  });
}
document.documentElement.classList.add("script");
