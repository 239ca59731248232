// Links and choices of an answer work it out at once: the same page is fetched, and its answer put in place.

const told = document.getElementById("told");
let newest = 0;

async function workOut(address, { keep = true } = {}) {
  const mine = ++newest;
  const answer = document.getElementById("answer");
  answer.setAttribute("aria-busy", "true");
  let page;
  try {
    const response = await fetch(address, { headers: { Accept: "text/html" } });
    if (!response.ok || response.redirected) throw new Error(String(response.status));
    page = new DOMParser().parseFromString(await response.text(), "text/html");
  } catch {
    // The page itself tells what is wrong.
    location.assign(address);
    return;
  }
  if (mine !== newest) return;
  const focused = document.activeElement?.id;
  const opened = answer.querySelector("#ask details")?.open;
  answer.replaceWith(page.getElementById("answer"));
  document.title = page.title;
  if (keep) history.pushState(null, "", address);
  const options = document.querySelector("#ask details");
  if (options && opened) options.open = true;
  const headline = document.getElementById("headline");
  ((focused && document.getElementById(focused)) || headline).focus({ preventScroll: true });
  told.textContent = headline.textContent;
}

function asked(form) {
  const said = new URLSearchParams(new FormData(form));
  for (const [name, value] of [...said]) if (value === "") said.delete(name);
  return `${form.getAttribute("action")}?${said}`;
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-ask]");
  if (!link || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  workOut(link.href);
});
document.addEventListener("change", (event) => {
  if (event.target.form?.id === "ask" && event.target.form.reportValidity()) workOut(asked(event.target.form));
});
document.addEventListener("submit", (event) => {
  if (event.target.id !== "ask") return;
  event.preventDefault();
  workOut(asked(event.target));
});
addEventListener("popstate", () => workOut(location.href, { keep: false }));
document.documentElement.classList.add("script");
