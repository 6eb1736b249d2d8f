// Ticks at the bench: kept on the phone until the shop has them, sent again with the same key, so that none is doubled.
(function () {
  "use strict";
  var STORE = "hullbench-ticks";
  var bar = document.querySelector("[data-unsaved]");
  if (!bar || !window.fetch || !window.localStorage) return;
  var sending = false;

  function waiting() {
    try { return JSON.parse(localStorage.getItem(STORE) || "[]"); } catch (error) { return []; }
  }
  function keep(list) {
    localStorage.setItem(STORE, JSON.stringify(list));
  }
  function show(list, sentence) {
    bar.hidden = !list.length && !sentence;
    bar.textContent = sentence || "Not saved yet, " + list.length + " waiting.";
    list.forEach(function (one) {
      var row = document.getElementById("step_" + one.n);
      if (row && location.pathname.indexOf("/" + one.ticket + "/") > 0) row.classList.add("waits");
    });
  }
  function token() {
    var field = document.querySelector("[name=csrfmiddlewaretoken]");
    return field ? field.value : "";
  }
  function drop(key) {
    keep(waiting().filter(function (one) { return one.key !== key; }));
    show(waiting());
  }

  // Sends the first that waits, then the next; stops at the first that does not get through.
  function send(after) {
    var list = waiting();
    if (sending || !list.length) return;
    sending = true;
    var one = list[0];
    var body = new URLSearchParams({ key: one.key, done: one.done, reading: one.reading || "", at: one.at });
    fetch(one.url, {
      method: "POST",
      body: body,
      headers: { Accept: "application/json", "X-CSRFToken": token() },
      credentials: "same-origin",
      redirect: "error"
    }).then(function (answer) {
      sending = false;
      if (answer.status === 409) {
        return answer.json().then(function (said) { drop(one.key); show(waiting(), said.refused); });
      }
      if (!answer.ok) return show(waiting(), "Not saved yet, " + waiting().length + " waiting. Sign in again, then they are sent.");
      drop(one.key);
      if (waiting().length) send(after);
      else if (after) after();
    }).catch(function () {
      sending = false;
      show(waiting());
    });
  }

  document.querySelectorAll("form[data-tick]").forEach(function (form) {
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      event.stopPropagation();
      if (form.dataset.kept) return;
      form.dataset.kept = "yes";
      var reading = form.querySelector("[name=reading]");
      var one = {
        key: form.querySelector("[name=key]").value,
        done: form.querySelector("[name=done]").value,
        reading: reading ? reading.value : "",
        at: new Date().toISOString(),
        url: form.action,
        n: form.dataset.tick,
        ticket: document.querySelector("[data-bench]").dataset.bench
      };
      keep(waiting().concat([one]));
      form.querySelector("button").classList.add("waits");
      send(function () {
        var following = form.dataset.next;
        if (following && one.done === "1") location.href = following;
        else location.reload();
      });
    });
  });
  window.addEventListener("online", function () { send(); });
  setInterval(function () { send(); }, 15000);
  show(waiting());
  send();
})();
