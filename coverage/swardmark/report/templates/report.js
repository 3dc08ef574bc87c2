(function () {
  "use strict";
  document.querySelectorAll("[data-slider]").forEach(function (slider) {
    var input = slider.querySelector("input");
    var output = slider.querySelector("output");
    var frames = slider.querySelectorAll(".frames > figure");
    if (!input) { return; }
    function show() {
      var chosen = Number(input.value);
      frames.forEach(function (frame, number) {
        frame.classList.toggle("shown", number === chosen);
        frame.setAttribute("aria-hidden", number === chosen ? "false" : "true");
      });
      var label = frames[chosen].getAttribute("data-label");
      output.textContent = label;
      input.setAttribute("aria-valuetext", label);
    }
    slider.classList.add("live");
    input.addEventListener("input", show);
    show();
  });
  document.querySelectorAll("[data-outlines]").forEach(function (box) {
    box.addEventListener("change", function () {
      document.body.classList.toggle("unlined", !box.checked);
      document.querySelectorAll("[data-outlines]").forEach(function (other) { other.checked = box.checked; });
    });
  });
  if (window.matchMedia("(min-width: 60.01rem)").matches) {
    document.querySelectorAll("details.wide, details.screen").forEach(function (details) { details.open = true; });
  }
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("details.wide, details.plan").forEach(function (details) { details.open = true; });
  });
})();
