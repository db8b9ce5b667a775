// A click on the photograph puts the spot there and reads it.

const stage = document.getElementById("spot-stage");
const form = document.getElementById("spot");

stage.dataset.live = "";
stage.addEventListener("click", (event) => {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(stage.getScreenCTM().inverse());
  form.elements.x.value = at.x.toFixed(0);
  form.elements.y.value = at.y.toFixed(0);
  form.requestSubmit();
});
