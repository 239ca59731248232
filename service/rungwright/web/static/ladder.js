// A chosen file goes into the field whose text is sent; without script its text is pasted there.

const file = document.getElementById("file");
file.addEventListener("change", async () => {
  if (file.files[0]) document.getElementById("document").value = await file.files[0].text();
});
document.documentElement.classList.add("script");
