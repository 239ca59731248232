const button = document.getElementById("print");
button.hidden = false;
button.addEventListener("click", () => print());
document.documentElement.classList.add("script");
