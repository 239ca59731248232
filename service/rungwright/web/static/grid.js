// Enter goes down a column of the grid, and from its last group to the head of the next column.

for (const grid of document.querySelectorAll("[data-grid]")) {
  grid.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "SELECT") return;
    event.preventDefault();
    const cell = event.target.closest("td");
    const below = cell.parentElement.nextElementSibling?.cells[cell.cellIndex];
    const next = below ?? grid.tBodies[0].rows[0].cells[cell.cellIndex + 1];
    next?.querySelector("select").focus();
  });
}
document.documentElement.classList.add("script");
