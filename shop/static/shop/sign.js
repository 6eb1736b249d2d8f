// The customer signs: initials shown at each ticked place, a count of what is left, and a field to draw in.
(function () {
  "use strict";
  var form = document.querySelector("[data-sign]");
  if (!form) return;

  var initials = form.querySelector("[data-initials]");
  var boxes = Array.from(form.querySelectorAll(".places input[type=checkbox]"));
  var count = form.querySelector("[data-count]");

  function show() {
    var done = boxes.filter(function (box) { return box.checked; });
    boxes.forEach(function (box) {
      var stamp = box.closest("label").querySelector(".stamp");
      stamp.textContent = box.checked && initials ? initials.value.trim() : "";
    });
    if (count) count.textContent = done.length === boxes.length ? "Every place is initialled." : done.length + " of " + boxes.length + " places initialled.";
  }
  form.addEventListener("input", show);
  show();

  var box = form.querySelector("[data-padbox]");
  var pad = form.querySelector("[data-pad]");
  var kept = form.querySelector("[data-drawing]");
  if (!box || !pad.getContext) return;
  box.hidden = false;
  var pen = pad.getContext("2d");
  var strokes = [];
  try { strokes = JSON.parse(kept.value || "[]"); } catch (error) { strokes = []; }

  function point(event) {
    var frame = pad.getBoundingClientRect();
    var x = Math.round((event.clientX - frame.left) * pad.width / frame.width);
    var y = Math.round((event.clientY - frame.top) * pad.height / frame.height);
    return [Math.min(pad.width, Math.max(0, x)), Math.min(pad.height, Math.max(0, y))];
  }
  function draw() {
    pen.clearRect(0, 0, pad.width, pad.height);
    pen.lineWidth = 8;
    pen.lineCap = pen.lineJoin = "round";
    pen.strokeStyle = "#12203a";
    strokes.forEach(function (stroke) {
      pen.beginPath();
      stroke.forEach(function (at, place) { place ? pen.lineTo(at[0], at[1]) : pen.moveTo(at[0], at[1]); });
      if (stroke.length === 1) pen.lineTo(stroke[0][0] + 1, stroke[0][1]);
      pen.stroke();
    });
    kept.value = strokes.length ? JSON.stringify(strokes) : "";
  }
  var drawing = false;
  pad.addEventListener("pointerdown", function (event) {
    drawing = true;
    pad.setPointerCapture(event.pointerId);
    strokes.push([point(event)]);
    draw();
    event.preventDefault();
  });
  pad.addEventListener("pointermove", function (event) {
    if (!drawing) return;
    var stroke = strokes[strokes.length - 1], at = point(event), last = stroke[stroke.length - 1];
    if (Math.abs(at[0] - last[0]) + Math.abs(at[1] - last[1]) < 4) return;
    stroke.push(at);
    draw();
  });
  ["pointerup", "pointercancel"].forEach(function (name) { pad.addEventListener(name, function () { drawing = false; }); });
  form.querySelector("[data-clear]").addEventListener("click", function () { strokes = []; draw(); });
  draw();
})();
