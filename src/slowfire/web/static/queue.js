// Entries typed where slowfire is out of reach wait on this device and are sent once, later.
(function () {
  "use strict";
  if (!window.indexedDB || !document.querySelector) { return; }
  var root = document.body.dataset.root || "";
  var place = document.getElementById("queue");
  var words = place ? place.dataset : {};
  var sending = false;

  function opened() {
    return new Promise(function (done, failed) {
      var asked = indexedDB.open("slowfire" + root, 1);
      asked.onupgradeneeded = function () {
        asked.result.createObjectStore("waiting", { keyPath: "key" });
      };
      asked.onsuccess = function () { done(asked.result); };
      asked.onerror = function () { failed(asked.error); };
    });
  }
  function work(mode, call) {
    return opened().then(function (database) {
      return new Promise(function (done, failed) {
        var step = database.transaction("waiting", mode);
        var asked = call(step.objectStore("waiting"));
        step.oncomplete = function () { database.close(); done(asked.result); };
        step.onabort = step.onerror = function () { database.close(); failed(step.error); };
      });
    });
  }
  function waiting() { return work("readonly", function (store) { return store.getAll(); }); }
  function keep(one) { return work("readwrite", function (store) { return store.put(one); }); }
  function drop(key) { return work("readwrite", function (store) { return store.delete(key); }); }

  // crypto.randomUUID is missing on plain http; random bytes are not
  function newKey() {
    var bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 15) | 64;
    bytes[8] = (bytes[8] & 63) | 128;
    var text = Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
    return text.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }
  function fieldsOf(form) {
    var fields = [];
    new FormData(form).forEach(function (value, name) {
      if (typeof value === "string") { fields.push([name, value]); }
    });
    return fields;
  }
  function field(one, name) {
    var found = one.fields.filter(function (pair) { return pair[0] === name; })[0];
    return found ? found[1] : "";
  }
  function post(one) {
    var body = new URLSearchParams(one.fields);
    body.set("key", one.key);
    body.set("typed_at", one.typed);
    body.set("sent_at", new Date().toISOString());
    var stop = new AbortController();
    var timer = setTimeout(function () { stop.abort(); }, 10000);
    return fetch(one.action, {
      method: "POST", body: body, headers: { "x-slowfire-queue": "1" },
      signal: stop.signal, redirect: "manual", credentials: "same-origin", cache: "no-store"
    }).finally(function () { clearTimeout(timer); });
  }
  // true: it is written; a text: why it is refused; it fails where nobody can be reached
  function outcome(answer) {
    if (answer.ok) { return true; }
    if (answer.status === 422) {
      return answer.json().then(function (told) { return told.message || words.refused; });
    }
    if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) {
      return words.signIn;
    }
    throw new Error("not reached");
  }

  function show() {
    if (!place) { return Promise.resolve(0); }
    return waiting().then(function (list) {
      place.replaceChildren();
      place.hidden = list.length === 0;
      if (!list.length) { return 0; }
      var head = document.createElement("p");
      head.textContent = words.waiting.replace("#", list.length);
      place.append(head);
      var rows = document.createElement("ul");
      list.forEach(function (one) {
        var row = document.createElement("li");
        row.textContent = new Date(one.typed).toLocaleString() + ": " + one.label +
          (one.refused ? " - " + one.refused : "");
        var away = document.createElement("button");
        away.type = "button";
        away.className = "link";
        away.textContent = words.drop;
        away.addEventListener("click", function () { drop(one.key).then(show); });
        row.append(" ", away);
        rows.append(row);
      });
      place.append(rows);
      var again = document.createElement("button");
      again.type = "button";
      again.className = "quiet";
      again.textContent = words.send;
      again.addEventListener("click", sendAll);
      place.append(again);
      return list.length;
    });
  }
  function alone(call) {
    // of several tabs only one sends; without locks the server still writes each only once
    return navigator.locks ? navigator.locks.request("slowfire-queue" + root, call) : call();
  }
  function sendAll() {
    if (sending) { return Promise.resolve(); }
    sending = true;
    return alone(function () {
      return waiting().then(function (list) {
        list.sort(function (a, b) { return a.typed < b.typed ? -1 : 1; });
        return list.reduce(function (before, one) {
          return before.then(function () {
            return post(one).then(outcome).then(function (told) {
              if (told === true) { return drop(one.key); }
              one.refused = told;
              return keep(one);
            });
          });
        }, Promise.resolve());
      });
    }).catch(function () { return null; }).then(function () { sending = false; return show(); });
  }

  // an address that differs from this one by its place on the page alone would not be asked for
  function go(address) {
    var there = new URL(address, location.href);
    location.assign(there);
    if (there.hash && there.pathname + there.search === location.pathname + location.search) {
      location.reload();
    }
  }

  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.matches("form[data-queue]")) { return; }
    event.preventDefault();
    if (form.dataset.busy) { return; }
    form.dataset.busy = "yes";
    var button = form.querySelector("button:not([type=button])");
    var one = {
      key: newKey(), action: form.action, typed: new Date().toISOString(), fields: fieldsOf(form),
      label: form.dataset.queue || (button ? button.textContent.trim() : "")
    };
    var detail = ["item", "amount", "unit", "note"].map(function (name) { return field(one, name); })
      .filter(Boolean).join(" ");
    if (detail) { one.label += " " + detail; }
    // kept first: whatever happens to this page or the network, it is not lost
    keep(one).then(function () {
      return post(one).then(outcome).then(function (told) {
        if (told === true) {
          return drop(one.key).then(function () {
            go(form.dataset.then || (root + "/entries?written=1" +
              (field(one, "bin") ? "&bin=" + encodeURIComponent(field(one, "bin")) : "")));
          });
        }
        // the server says beside the field what is wrong, and keeps what was typed
        return drop(one.key).then(function () { HTMLFormElement.prototype.submit.call(form); });
      }).catch(function () {
        delete form.dataset.busy;
        form.reset();
        return show().then(function () {
          var told = document.createElement("p");
          told.className = "written";
          told.setAttribute("role", "status");
          told.textContent = words.kept;
          place.prepend(told);
          place.scrollIntoView();
        });
      });
    }).catch(function () { HTMLFormElement.prototype.submit.call(form); });
  });

  window.addEventListener("online", sendAll);
  document.addEventListener("visibilitychange", function () {
    if (!document.hidden) { sendAll(); }
  });
  setInterval(function () { show().then(function (count) { if (count) { sendAll(); } }); }, 20000);
  sendAll();

  if ("serviceWorker" in navigator && document.body.dataset.worker) {
    navigator.serviceWorker.register(document.body.dataset.worker, { scope: root + "/" })
      .catch(function () { return null; });
  }
})();
