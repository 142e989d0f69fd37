// Small comforts; every page works without them.
(function () {
  "use strict";
  var waiting = document.querySelector("[data-progress]");
  if (waiting) {
    var typed = false;
    ["input", "change"].forEach(function (kind) {
      document.addEventListener(kind, function () { typed = true; });
    });
    var ended = function () {
      var job = waiting.dataset.job;
      var field = document.activeElement && document.activeElement.matches("input, select, textarea");
      // nobody loses what they write, and no page shows itself anew for the same work twice
      if (typed || field || sessionStorage.getItem("slowfire-ended") === job) {
        waiting.querySelector("progress").hidden = true;
        waiting.querySelector("form").hidden = true;
        waiting.querySelector("p").hidden = true;
        waiting.querySelector(".ready").hidden = false;
      } else {
        sessionStorage.setItem("slowfire-ended", job);
        location.reload();
      }
    };
    var told = function (job) {
      if (job.state !== "running" && job.state !== "waiting") { ended(); return false; }
      waiting.querySelector("progress").value = job.share;
      waiting.querySelector(".share").textContent = Math.round(100 * job.share);
      return true;
    };
    var ask = function () {
      fetch(waiting.dataset.progress, { cache: "no-store" })
        .then(function (answer) { return answer.json(); })
        .then(function (job) { if (told(job)) { setTimeout(ask, 1000); } })
        .catch(function () { setTimeout(ask, 4000); });
    };
    if (window.EventSource) {
      var events = new EventSource(waiting.dataset.events);
      events.onmessage = function (one) { if (!told(JSON.parse(one.data))) { events.close(); } };
      events.onerror = function () { events.close(); setTimeout(ask, 1000); };
    } else {
      setTimeout(ask, 1000);
    }
  }
  var questions = document.querySelector("form[data-drawing]");
  if (questions) {
    questions.addEventListener("input", function () {
      var query = new URLSearchParams(new FormData(questions)).toString();
      fetch(questions.dataset.drawing + "?" + query)
        .then(function (answer) { return answer.text(); })
        .then(function (svg) { questions.querySelector(".drawing").innerHTML = svg; });
    });
  }
  var town = document.querySelector("input[data-towns]");
  if (town) {
    town.addEventListener("input", function () {
      if (town.value.length < 2) { return; }
      fetch(town.dataset.towns + "?begin=" + encodeURIComponent(town.value))
        .then(function (answer) { return answer.json(); })
        .then(function (names) {
          var list = document.getElementById("towns");
          list.replaceChildren.apply(list, names.map(function (name) {
            var option = document.createElement("option");
            option.value = name;
            return option;
          }));
        });
    });
  }
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.matches("form[data-queue]") && window.indexedDB) { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    setTimeout(function () { delete form.dataset.sent; }, 4000);
  });
})();
