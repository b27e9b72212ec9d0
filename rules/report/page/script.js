(function () {
  "use strict";
  var holder = document.getElementById("data");
  if (!holder) { return; }
  var data = JSON.parse(holder.textContent);
  var slot = document.getElementById("section-slot");
  if (!slot) { return; }
  var frames = data.frames.map(function (f, k) { return document.getElementById("frame-" + k); });
  var SVG = "http://www.w3.org/2000/svg";
  var chosen = +slot.firstElementChild.dataset.frame, at = -1;
  var pick = document.getElementById("pick-frame");
  var hover = document.getElementById("hover-readout");
  var slides = data.slides.map(function (s, k) {
    return {
      s: s,
      x: document.getElementById("slide-" + k + "-x"),
      y: document.getElementById("slide-" + k + "-y"),
      out: document.getElementById("slide-" + k + "-readout")
    };
  });

  function mm(v) { return (Math.round(v * 1e6) / 1e6).toString().replace("-", "\u2212"); }

  // put writes a text in which no line breaks between a number and what follows it.
  function put(node, text) {
    node.textContent = "";
    text.split(/([+\-\u2212\u00b1]?\d[\d.]*(?:e[+\-]?\d+)?(?:\u00b0| [^\s,.;:()|]+)?)/).forEach(function (part, k) {
      var span;
      if (k % 2) {
        span = document.createElement("span");
        span.className = "q";
        span.textContent = part;
        node.appendChild(span);
      } else if (part) {
        node.appendChild(document.createTextNode(part));
      }
    });
  }

  function drawing() { return frames[chosen].querySelector("svg.fg"); }

  function scale(svg) {
    return { x0: +svg.dataset.x0, y0: +svg.dataset.y0, k: +svg.dataset.perM / 1000 };
  }

  // mark puts a ring of the given name at a place in millimetres.
  function mark(name, x, y) {
    var svg = drawing(), s;
    if (!svg) { return; }
    s = scale(svg);
    [["rim", name + "-rim"], ["cross", name]].forEach(function (k) {
      var ring = svg.querySelector("[data-mark='" + k[1] + "']");
      if (!ring) {
        ring = document.createElementNS(SVG, "circle");
        ring.setAttribute("class", k[0]);
        ring.setAttribute("data-mark", k[1]);
        ring.setAttribute("r", "6");
        svg.appendChild(ring);
      }
      ring.setAttribute("cx", s.x0 + s.k * x);
      ring.setAttribute("cy", s.y0 - s.k * y);
    });
  }

  function show(i) {
    var f = data.frames[chosen], p = data.points[i], text, parts;
    at = i;
    if (!f.at.length) { put(hover, "The field of this duty is not known."); return; }
    parts = f.at[i].split("|");
    text = "x " + mm(p[0]) + " mm, y " + mm(p[1]) + " mm" + (p[2] ? ", z " + mm(p[2]) + " mm" : "") + ": |Bx| " + parts[0] + ", |By| " + parts[1];
    if (parts[2]) { text += ", |Bz| " + parts[2]; }
    if (f.bars.length) {
      text += ". Of it: " + f.bars[i].split("|").map(function (v, k) { return data.bars[k] + " " + v; }).join(", ") + ".";
    } else {
      text += ". The state of the iron hangs on all currents at once, so the parts of the bars cannot be told apart.";
    }
    put(hover, text);
    hover.dataset.xMm = p[0];
    hover.dataset.yMm = p[1];
    hover.dataset.zMm = p[2];
    hover.dataset.bx = parts[0];
    hover.dataset.by = parts[1];
    hover.dataset.point = i;
    mark("hover", p[0], p[1]);
  }

  function nearest(x, y) {
    var best = -1, least = Infinity;
    data.points.forEach(function (p, i) {
      var d = (p[0] - x) * (p[0] - x) + (p[1] - y) * (p[1] - y);
      if (d < least) { least = d; best = i; }
    });
    return best;
  }

  function over(event) {
    var svg = drawing(), m = svg && svg.getScreenCTM(), q, s;
    if (!m) { return; }
    q = new DOMPoint(event.clientX, event.clientY).matrixTransform(m.inverse());
    s = scale(svg);
    show(nearest((q.x - s.x0) / s.k, (s.y0 - q.y) / s.k));
  }

  // step goes to the nearest point within 45 degrees of a direction.
  function step(dx, dy) {
    var from = data.points[at < 0 ? nearest(0, 0) : at], best = -1, least = Infinity;
    data.points.forEach(function (p, i) {
      var x = p[0] - from[0], y = p[1] - from[1], along = x * dx + y * dy, across = Math.abs(x * dy - y * dx);
      if (along > 1e-9 && across <= along && along + 2 * across < least) { least = along + 2 * across; best = i; }
    });
    if (best >= 0) { show(best); }
  }

  function key(event) {
    var d = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (d) { event.preventDefault(); step(d[0], d[1]); }
  }

  function slide(k) {
    var c = slides[k], i = +c.x.value, j = +c.y.value, dx = c.s.dx[i], dy = c.s.dy[j];
    var slid = data.frames[chosen].slid[k], v = slid && slid[j * c.s.dx.length + i];
    c.x.setAttribute("aria-valuetext", mm(dx) + " mm");
    c.y.setAttribute("aria-valuetext", mm(dy) + " mm");
    put(c.out, c.s.sensor + " moved by x " + mm(dx) + " mm, y " + mm(dy) + " mm: " + (v ? v.replace("|", " per ampere, phase ").replace("|", ", stray ").replace("|", ", ") : "in metal, or not known"));
    c.out.dataset.xMm = c.s.at[0] + dx;
    c.out.dataset.yMm = c.s.at[1] + dy;
    c.out.dataset.value = v || "";
    mark("slide-" + k, c.s.at[0] + dx, c.s.at[1] + dy);
  }

  // choose shows a frame on the first screen and puts the one before it back in its place.
  function choose(i) {
    if (i !== chosen) { document.getElementById("home-" + chosen).appendChild(frames[chosen]); }
    chosen = i;
    slot.appendChild(frames[i]);
    slides.forEach(function (c, k) { if (c.x) { slide(k); } });
    if (at >= 0) { show(at); }
  }

  frames.forEach(function (f) {
    var svg = f.querySelector("svg.fg");
    if (!svg) { return; }
    svg.setAttribute("tabindex", "0");
    svg.addEventListener("pointermove", over);
    svg.addEventListener("click", over);
    svg.addEventListener("keydown", key);
  });
  slides.forEach(function (c, k) {
    if (!c.x) { return; }
    c.x.addEventListener("input", function () { slide(k); });
    c.y.addEventListener("input", function () { slide(k); });
  });
  pick.addEventListener("change", function () { choose(+pick.value); });
  ["section-tools", "pick", "hover-readout"].forEach(function (id) { document.getElementById(id).hidden = false; });
  choose(chosen);
})();
