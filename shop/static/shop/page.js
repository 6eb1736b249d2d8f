// Keys of every page: "/" puts the cursor into the search field, Alt with a letter presses what bears it.
(function () {
  "use strict";

  function typing(target) {
    return target instanceof HTMLElement && (target.isContentEditable || /^(INPUT|SELECT|TEXTAREA)$/.test(target.tagName));
  }

  document.addEventListener("keydown", function (event) {
    if (event.key === "/" && document.body.dataset.slash === "on" && !typing(event.target) && !event.ctrlKey && !event.metaKey && !event.altKey) {
      var field = document.querySelector("[data-find]") || document.getElementById("find");
      if (field) {
        event.preventDefault();
        field.focus();
        field.select();
      }
    } else if (event.altKey && !event.ctrlKey && !event.metaKey && event.key.length === 1) {
      var pressed = document.querySelector('[data-key="' + CSS.escape(event.key.toLowerCase()) + '"]');
      if (pressed) {
        event.preventDefault();
        pressed.click();
      }
    }
  });

  // After an answer arrives: mark the figures that changed, and put the cursor where the answer wants it.
  var before = {};
  document.addEventListener("htmx:beforeSwap", function () {
    before = {};
    document.querySelectorAll("[data-figure]").forEach(function (figure) {
      before[figure.dataset.figure] = figure.textContent.trim();
    });
  });
  document.addEventListener("htmx:afterSettle", function () {
    document.querySelectorAll("[data-figure]").forEach(function (figure) {
      var was = before[figure.dataset.figure];
      if (was !== undefined && was !== figure.textContent.trim()) figure.classList.add("changed");
    });
  });
  // As soon as the answer is there: a moment later somebody may be typing in another field.
  document.addEventListener("htmx:afterSwap", function () {
    var wanted = document.querySelector("[data-cursor]");
    if (wanted) (wanted.matches("input, button, select") ? wanted : wanted.querySelector("input, select")).focus();
  });

  // A station pressed on the drawing goes into the field for the place; without the field the link leads on.
  document.addEventListener("click", function (event) {
    var pressed = event.target.closest && event.target.closest("[data-station]");
    var field = pressed && pressed.dataset.name && document.getElementById("where");
    if (!field) return;
    event.preventDefault();
    field.value = pressed.dataset.name;
    field.focus();
  });

  // A form on its way is not sent a second time; one that comes back from the history can be sent again.
  document.addEventListener("submit", function (event) {
    if (event.defaultPrevented || event.target.matches("[hx-post], [hx-get], [data-first], [method=get]")) return;
    if (event.target.dataset.sent) event.preventDefault();
    else event.target.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sent]").forEach(function (form) { delete form.dataset.sent; });
  });

  // Enter in the search field opens the first hit, once the hits are those of the words in the field.
  document.addEventListener("submit", function (event) {
    var list = event.target.dataset && event.target.dataset.first && document.querySelector(event.target.dataset.first);
    if (!list) return;
    event.preventDefault();
    var words = event.target.querySelector("[data-find]").value.trim();
    function open() {
      var hits = list.querySelector("[data-words]");
      if (!hits || hits.dataset.words !== words) return false;
      var first = hits.querySelector("a, button");
      if (first) first.click();
      return true;
    }
    if (!open()) {
      document.addEventListener("htmx:afterSettle", function wait() {
        if (open()) document.removeEventListener("htmx:afterSettle", wait);
      });
    }
  });
})();
