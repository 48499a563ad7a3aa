// Two pictures are ticked at most: a third one takes the place of the one that was ticked first.

const form = document.querySelector("[data-choosing]");
const ticked = [...form.querySelectorAll("input[name=picture]:checked")];

function tell() {
  const count = form.querySelectorAll("input[name=picture]:checked").length;
  form.querySelector("[data-count]").textContent = `${count} of 2 chosen`;
}

form.addEventListener("change", ({ target }) => {
  if (target.name !== "picture") {
    return;
  }
  if (target.checked) {
    ticked.push(target);
  } else {
    ticked.splice(ticked.indexOf(target), 1);
  }
  while (ticked.length > 2) {
    ticked.shift().checked = false;
  }
  tell();
});

tell();
