// What is sent from the bench waits on the phone until the shop has it, and is sent again with the same key, so that
// nothing is lost and nothing doubled. A photo is made small first.
(function () {
  "use strict";
  var STORE = "hullbench-waiting", LONGEST = 1600;
  var bar = document.querySelector("[data-unsaved]"), here = document.querySelector("[data-bench]");
  if (!bar || !here || !window.fetch || !window.localStorage) return;
  var sending = false;

  function all() {
    try { return JSON.parse(localStorage.getItem(STORE) || "[]"); } catch (error) { return []; }
  }
  // Only what this person sent: another one at the same phone would sign for it.
  function mine() {
    return all().filter(function (one) { return one.who === here.dataset.who; });
  }
  function keep(list) {
    localStorage.setItem(STORE, JSON.stringify(list));
  }
  function drop(key) {
    keep(all().filter(function (one) { return one.key !== key; }));
  }
  function show(sentence) {
    var list = mine();
    bar.hidden = !list.length && !sentence;
    bar.textContent = sentence || "Not saved yet, " + list.length + " waiting.";
    document.querySelectorAll(".waits").forEach(function (marked) { marked.classList.remove("waits"); });
    list.forEach(function (one) {
      var row = one.row && one.ticket === here.dataset.bench && document.getElementById(one.row);
      if (row) row.classList.add("waits");
    });
  }
  function token() {
    var field = document.querySelector("[name=csrfmiddlewaretoken]");
    return field ? field.value : "";
  }
  function body(one) {
    var data = new FormData();
    Object.keys(one.fields).forEach(function (name) { data.append(name, one.fields[name]); });
    data.set("at", one.at);
    if (one.photo) data.append("photo", blob(one.photo), "photo.jpg");
    return data;
  }
  function blob(text) {
    var bytes = atob(text.split(",")[1]), array = new Uint8Array(bytes.length);
    for (var i = 0; i < bytes.length; i += 1) array[i] = bytes.charCodeAt(i);
    return new Blob([array], { type: "image/jpeg" });
  }

  // Sends the first that waits, then the next; stops at the first that does not get through.
  function send() {
    var one = mine()[0];
    if (sending || !one) return;
    sending = true;
    fetch(one.url, {
      method: "POST",
      body: body(one),
      headers: { Accept: "application/json", "X-CSRFToken": token() },
      credentials: "same-origin",
      redirect: "error"
    }).then(function (answer) {
      sending = false;
      if (answer.status === 409 || answer.status === 422) {
        return answer.json().then(function (said) { drop(one.key); show(said.refused); });
      }
      if (!answer.ok) return show("Not saved yet, " + mine().length + " waiting. Sign in again, then they are sent.");
      drop(one.key);
      show();
      if (mine().length) send();
      else if (one.page === location.pathname) goOn(one);
    }).catch(function () {
      sending = false;
      show();
    });
  }

  // Shows what is saved, unless something else is being written on the page.
  function goOn(one) {
    var writing = Array.prototype.some.call(document.querySelectorAll("input, textarea"), function (field) {
      return field.type !== "hidden" && !field.closest("form[data-kept]") && field.value !== field.defaultValue;
    });
    if (writing) show("Saved.");
    else if (one.next) location.href = one.next;
    else location.reload();
  }

  function small(file) {
    return createImageBitmap(file, { imageOrientation: "from-image" }).then(function (picture) {
      var scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
      var canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      return canvas.toDataURL("image/jpeg", 0.8);
    });
  }
  function wait(form, fields, photo) {
    var one = {
      key: fields.key, fields: fields, photo: photo, at: new Date().toISOString(), url: form.action,
      row: form.dataset.row || "", next: form.dataset.next || "", page: location.pathname,
      ticket: here.dataset.bench, who: here.dataset.who
    };
    try {
      keep(all().concat([one]));
    } catch (error) {
      form.removeAttribute("data-kept");
      return show("This phone has no room to keep it. It is not saved yet: send it where there is reception.");
    }
    form.classList.add("waits");
    send();
  }

  document.querySelectorAll("form[data-send]").forEach(function (form) {
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      event.stopPropagation();
      if (form.dataset.kept && mine().some(function (one) { return one.key === form.dataset.kept; })) return;
      var fields = {}, photo = null;
      new FormData(form, event.submitter).forEach(function (value, name) {
        if (name === "photo") photo = value.size ? value : null;
        else if (name !== "csrfmiddlewaretoken") fields[name] = value;
      });
      form.dataset.kept = fields.key;
      if (!photo) return wait(form, fields, null);
      small(photo).then(function (text) { wait(form, fields, text); }, function () {
        form.removeAttribute("data-kept");
        show("The file is no photo that this phone can read; accepted: JPEG, PNG or WebP.");
      });
    });
  });
  window.addEventListener("online", function () { send(); });
  setInterval(function () { send(); }, 15000);
  show();
  send();
})();
