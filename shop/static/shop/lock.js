// The lock lies over the page: what was typed stays beneath it, and the server answers nothing until the password.
(function () {
  "use strict";
  var dialog = document.querySelector("[data-lock]");
  if (!dialog || !dialog.showModal || !window.fetch) return;
  var form = dialog.querySelector("[data-unlock]");
  var password = form.querySelector("[name=password]");
  var trouble = dialog.querySelector("[data-lock-trouble]");
  var after = Number(document.body.dataset.lockAfter) * 1000;
  var STAY_MS = 60000;
  var locked = false, cursor = null, active = Date.now(), told = Date.now();

  function post(url, fields) {
    return fetch(url, {
      method: "POST",
      body: new URLSearchParams(fields || {}),
      headers: { Accept: "application/json", "X-CSRFToken": form.querySelector("[name=csrfmiddlewaretoken]").value },
      credentials: "same-origin",
      redirect: "manual"
    });
  }
  function others(word) {
    try { localStorage.setItem("hullbench-lock", word + " " + Date.now()); } catch (error) { return; }
  }
  function show() {
    if (locked) return;
    locked = true;
    cursor = document.activeElement;
    trouble.textContent = "";
    document.body.classList.add("locked");
    dialog.showModal();
    (password || form.querySelector("button")).focus();
  }
  function hide() {
    locked = false;
    active = told = Date.now();
    if (password) password.value = "";
    document.body.classList.remove("locked");
    dialog.close();
    if (cursor && cursor.focus) cursor.focus();
  }
  function lock() {
    show();
    others("locked");
    post("/lock/").catch(function () { return; });
  }

  document.addEventListener("keydown", function (event) { if (locked && event.key === "Escape") event.preventDefault(); });
  dialog.addEventListener("cancel", function (event) { event.preventDefault(); });
  dialog.addEventListener("close", function () { if (locked) dialog.showModal(); });
  var now = document.querySelector("[data-lock-now]");
  if (now) {
    now.addEventListener("submit", function (event) {
      event.preventDefault();
      lock();
    });
  }
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    post(form.action, { password: password ? password.value : "" }).then(function (answer) {
      if (answer.ok) {
        hide();
        return others("open");
      }
      if (answer.type === "opaqueredirect" || answer.status === 403) {
        trouble.textContent = "The session has ended. Sign in again; what was typed here is not saved.";
        return null;
      }
      return answer.json().then(function (said) {
        trouble.textContent = said.trouble;
        if (password) password.select();
      });
    }).catch(function () { trouble.textContent = "The shop does not answer. Try again."; });
  });

  // Another window of this browser was locked or opened.
  window.addEventListener("storage", function (event) {
    if (event.key !== "hullbench-lock" || !event.newValue) return;
    if (event.newValue.indexOf("locked") === 0) show();
    else if (locked) hide();
  });
  // The server found the session locked.
  document.addEventListener("htmx:beforeSwap", function (event) {
    if (event.detail.xhr.getResponseHeader("X-Locked")) {
      event.detail.shouldSwap = false;
      show();
    }
  });

  // A page that comes back from the history asks first whether its person is still here.
  window.addEventListener("pageshow", function (event) {
    if (!event.persisted) return;
    post("/stay/").then(function (answer) {
      if (answer.headers.get("X-Locked")) show();
      else if (!answer.ok) location.reload();
    }).catch(function () { return; });
  });

  // One who types for long tells the server so; one who is away is locked out.
  ["keydown", "pointerdown", "wheel", "touchmove"].forEach(function (name) {
    document.addEventListener(name, function () { active = Date.now(); }, { passive: true });
  });
  setInterval(function () {
    if (locked) return;
    if (Date.now() - active > after) return lock();
    if (active > told && Date.now() - told > STAY_MS) {
      told = Date.now();
      post("/stay/").then(function (answer) { if (answer.headers.get("X-Locked")) show(); }).catch(function () { return; });
    }
  }, 5000);
})();
