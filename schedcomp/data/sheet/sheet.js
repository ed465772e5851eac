"use strict";
(function () {
  var source = document.getElementById("nights");
  var panel = document.getElementById("night");
  var field = document.getElementById("date");
  var told = document.getElementById("told");
  var book = JSON.parse(source.textContent);
  if (!book.nights.length) { return; }
  var places = new Map(book.nights.map(function (night, place) { return [night[0], place]; }));
  var last = book.nights.length - 1;
  var chosen = Math.min(1, last);
  var SVG = "http://www.w3.org/2000/svg";
  var DAY = 86400000;

  function element(name, text, kind) {
    var made = document.createElement(name);
    made.textContent = text;
    if (kind) { made.className = kind; }
    return made;
  }

  function show(place) {
    chosen = Math.max(0, Math.min(last, place));
    var night = book.nights[chosen];
    field.value = night[0];
    var list = document.createElement("ul");
    night[3].forEach(function (row) {
      var item = document.createElement("li");
      item.append(element("time", row[2] || "\u2013"));
      var what = row[1] === "on" || row[1] === "off" ? row[1].toUpperCase() + " " : "";
      item.append(element("strong", what));
      if (book.circuits.length > 1) { item.append(element("bdi", book.circuits[row[0]]), " "); }
      item.append(element("bdi", book.texts[row[3]], "why"));
      list.append(item);
    });
    told.replaceChildren(element("h4", night[1]), element("p", night[2]), list, element("p", book.note, "why"));
    mark(night[0]);
    // What is jumped to stays clear of the panel, however many circuits it tells about.
    document.documentElement.style.scrollPaddingTop = panel.offsetHeight + "px";
  }

  function number(svg, name) { return Number(svg.dataset[name]); }

  function mark(day) {
    document.querySelectorAll("figure.nights svg").forEach(function (svg) {
      var column = Math.round((Date.parse(day) - Date.parse(svg.dataset.first)) / DAY);
      var old = svg.querySelector(".cursor");
      if (old) { old.remove(); }
      if (column < 0 || column >= number(svg, "columns")) { return; }
      var width = (number(svg, "right") - number(svg, "left")) / number(svg, "columns");
      var box = document.createElementNS(SVG, "rect");
      box.setAttribute("class", "cursor");
      box.setAttribute("x", number(svg, "left") + column * width - 1);
      box.setAttribute("y", number(svg, "top"));
      box.setAttribute("width", width + 2);
      box.setAttribute("height", number(svg, "bottom") - number(svg, "top"));
      svg.append(box);
    });
  }

  function pointed(event) {
    var svg = event.currentTarget.querySelector("svg");
    var frame = svg.getBoundingClientRect();
    var x = (event.clientX - frame.left) / frame.width * svg.viewBox.baseVal.width;
    var part = (x - number(svg, "left")) / (number(svg, "right") - number(svg, "left"));
    if (part < 0 || part >= 1) { return; }
    var first = places.get(svg.dataset.first);
    var place = (first === undefined ? 0 : first) + Math.floor(part * number(svg, "columns"));
    if (place !== chosen) { show(place); }
  }

  var STEPS = { ArrowLeft: -1, ArrowRight: 1, PageUp: -7, PageDown: 7 };
  function keyed(event) {
    if (event.key in STEPS) { show(chosen + STEPS[event.key]); }
    else if (event.key === "Home") { show(0); }
    else if (event.key === "End") { show(last); }
    else { return; }
    event.preventDefault();
  }

  document.querySelectorAll("figure.nights").forEach(function (figure) {
    figure.addEventListener("pointermove", pointed);
    figure.addEventListener("click", pointed);
    figure.addEventListener("keydown", keyed);
  });
  field.min = book.nights[0][0];
  field.max = book.nights[last][0];
  field.addEventListener("change", function () {
    if (places.has(field.value)) { show(places.get(field.value)); }
  });
  document.getElementById("earlier").addEventListener("click", function () { show(chosen - 1); });
  document.getElementById("later").addEventListener("click", function () { show(chosen + 1); });
  panel.hidden = false;
  show(chosen);
  var aim = document.getElementById(location.hash.slice(1));
  if (aim) { aim.scrollIntoView(); }
})();
