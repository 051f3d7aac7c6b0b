// Marks and labels over the view, as SVG. Labels are placed in the picture plane, anew for every
// camera: near what they name, off the run, never over one another; one without a free place is
// left out, least important first.
var over = el('over'), MOST_NAMED = 12;
var measure = document.createElement('canvas').getContext('2d');
var FONT = '"Liberation Sans", Arial, Helvetica, sans-serif';

function widthOf(text, size, bold) {
  measure.font = (bold ? 'bold ' : '') + size + 'px ' + FONT;
  return measure.measureText(text).width;
}

function svg(parent, tag, values, text) {
  var node = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (var name in values) node.setAttribute(name, values[name]);
  if (text !== undefined) node.textContent = text;
  parent.appendChild(node);
  return node;
}

function coveredBy(size, tubePoints, radius) {
  var step = 5, w = Math.ceil(size[0] / step), h = Math.ceil(size[1] / step), sums = new Int32Array((w + 1) * (h + 1)), mask = new Uint8Array(w * h);
  var reach = Math.ceil((radius + 3) / step);
  tubePoints.forEach(function (p) {
    var x = Math.round(p[0] / step), y = Math.round(p[1] / step);
    for (var i = Math.max(0, x - reach); i <= Math.min(w - 1, x + reach); i++) {
      for (var j = Math.max(0, y - reach); j <= Math.min(h - 1, y + reach); j++) mask[j * w + i] = 1;
    }
  });
  for (var j = 0; j < h; j++) {
    for (var i = 0; i < w; i++) {
      sums[(j + 1) * (w + 1) + i + 1] = mask[j * w + i] + sums[j * (w + 1) + i + 1] + sums[(j + 1) * (w + 1) + i] - sums[j * (w + 1) + i];
    }
  }
  function at(x, y) {
    return sums[Math.min(Math.max(Math.round(y / step), 0), h) * (w + 1) + Math.min(Math.max(Math.round(x / step), 0), w)];
  }
  return {
    rect: function (r) { return (at(r[2], r[3]) - at(r[0], r[3]) - at(r[2], r[1]) + at(r[0], r[1])) * step * step; },
    point: function (x, y) {
      var i = Math.floor(x / step), j = Math.floor(y / step);
      return i >= 0 && j >= 0 && i < w && j < h ? mask[j * w + i] : 0;
    }
  };
}

function meets(a, b, gap) { return a[0] < b[2] + gap && b[0] < a[2] + gap && a[1] < b[3] + gap && b[1] < a[3] + gap; }

function crosses(a, b, c, d) {
  function side(p, q, r) { return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]); }
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

function footOf(rect, anchor) {
  var xs = [rect[0], (rect[0] + rect[2]) / 2, rect[2]], ys = [rect[1], (rect[1] + rect[3]) / 2, rect[3]], best = null;
  xs.forEach(function (x, i) {
    ys.forEach(function (y, j) {
      if (i === 1 && j === 1) return;
      var away = Math.hypot(x - anchor[0], y - anchor[1]);
      if (!best || away < best.away) best = { away: away, at: [x, y] };
    });
  });
  return best;
}

function cutBy(from, to, rect) {
  for (var part = 0.04; part < 0.99; part += 0.06) {
    var x = from[0] + (to[0] - from[0]) * part, y = from[1] + (to[1] - from[1]) * part;
    if (x > rect[0] && x < rect[2] && y > rect[1] && y < rect[3]) return true;
  }
  return false;
}

function candidates(item, size, covered, anchors, blocked) {
  var found = [], distances = [item.near, item.near * 1.35, item.near * 1.9, item.near * 2.6, item.near * 3.5, item.near * 4.6, item.near * 6];
  for (var turn = 0; turn < 24; turn++) {
    var dx = Math.cos(turn * Math.PI / 12), dy = Math.sin(turn * Math.PI / 12);
    distances.forEach(function (distance) {
      if (distance > item.reach) return;
      var x = item.anchor[0] + dx * (distance + item.size[0] / 2), y = item.anchor[1] + dy * (distance + item.size[1] / 2);
      var rect = [x - item.size[0] / 2, y - item.size[1] / 2, x + item.size[0] / 2, y + item.size[1] / 2];
      if (rect[0] < 3 || rect[1] < 3 || rect[2] > size[0] - 3 || rect[3] > size[1] - 3) return;
      if (blocked.some(function (block) { return meets(rect, block, 2); })) return;
      var foot = footOf(rect, item.anchor), cost = 0.9 * foot.away + 0.10 * covered.rect(rect);
      for (var step = item.own; step < foot.away; step += 3) {
        var part = step / foot.away;
        if (covered.point(item.anchor[0] + (foot.at[0] - item.anchor[0]) * part, item.anchor[1] + (foot.at[1] - item.anchor[1]) * part)) cost += 12;
      }
      if (item.away) cost += 26 * (1 - dx * item.away[0] - dy * item.away[1]);
      anchors.forEach(function (p) { if (p[0] > rect[0] - 4 && p[0] < rect[2] + 4 && p[1] > rect[1] - 4 && p[1] < rect[3] + 4) cost += 800; });
      found.push({ rect: rect, foot: foot.at, cost: cost });
    });
  }
  found.sort(function (a, b) { return a.cost - b.cost; });
  return found.slice(0, 90);
}

function placed(items, size, covered, blocked) {
  var anchors = items.map(function (item) { return item.anchor; });
  items.sort(function (a, b) { return a.priority - b.priority; });
  items.forEach(function (item) { item.options = candidates(item, size, covered, anchors, blocked); item.pick = null; });
  for (var round = 0; round < 4; round++) {
    items.forEach(function (item) {
      var best = null;
      item.options.forEach(function (option) {
        var cost = option.cost;
        if (best && cost >= best.cost) return;
        items.forEach(function (other) {
          if (other === item || !other.pick) return;
          if (meets(option.rect, other.pick.rect, 4)) cost += 3000;
          if (crosses(item.anchor, option.foot, other.anchor, other.pick.foot)) cost += 600;
          if (cutBy(item.anchor, option.foot, other.pick.rect)) cost += 800;
          if (cutBy(other.anchor, other.pick.foot, option.rect)) cost += 800;
        });
        if (!best || cost < best.cost) best = { cost: cost, option: option };
      });
      item.pick = best ? best.option : null;
    });
  }
  var kept = [];
  items.forEach(function (item) {
    if (item.pick && !kept.some(function (other) { return meets(item.pick.rect, other.pick.rect, 1); })) kept.push(item);
  });
  return kept;
}

function chip(kind, title, detail, anchor, more) {
  title = title.replace(/ {2,}/g, '\u2002');
  var big = kind === 'number' ? 12 : 13, wide = widthOf(title, big, true), high = kind === 'number' ? 17 : 24;
  if (detail) { wide = Math.max(wide, widthOf(detail, 12, false)); high = 40; }
  var item = {
    kind: kind, title: title, detail: detail, anchor: anchor, own: 14, near: kind === 'number' ? 12 : 26,
    reach: kind === 'leg' ? 260 : kind === 'number' ? 70 : 200, size: [wide + (kind === 'number' ? 8 : 20) + (more && more.color ? 4 : 0), high],
    priority: { worst: 0, end: 1, box: 1, bend: 2, number: 2, leg: 3 }[kind]
  };
  for (var name in more) item[name] = more[name];
  return item;
}

function legMiddle(leg) {
  var low = D.edges[leg.from], high = D.edges[leg.to], best = [0, (low + high) / 2];
  S.straights.forEach(function (straight) {
    var a = Math.max(low, straight.stations[0]), b = Math.min(high, straight.stations[1]);
    if (b - a > best[0]) best = [b - a, (a + b) / 2];
  });
  return best[1];
}

function worldAt(station) {
  var cell = cellAt(station), low = D.edges[cell], size = D.edges[cell + 1] - low;
  return mixed(S.points[cell], S.points[cell + 1], size > 0 ? Math.min(Math.max((station - low) / size, 0), 1) : 0);
}

function markNow() {
  var head = headNow();
  if (head) {
    var value = between(head.cell, head.station, 'tension'), bend = bendAt(head.station), fitting = fittingAt(head.station);
    return {
      station: head.station, title: 'Head  ' + shown(value, 'force'), value: value, leg: head.leg, kind: 'tension',
      detail: (fitting ? fitting.name : bend ? bend.name : head.leg.name) + ' · at ' + shown(head.station, 'length')
    };
  }
  var worst = worstNow(state.quantity);
  if (!worst) return null;
  var isOver = worst.figure.share !== null && worst.figure.share > 1;
  return {
    station: worst.figure.station, title: (isOver ? 'Worst' : 'Highest') + '  ' + worst.figure.text, value: worst.figure.value,
    detail: (worst.figure.of || 'limit not known') + ' · at ' + worst.figure.at, kind: worst.kind, leg: worst.leg
  };
}

function roleOf(fitting) {
  if (fitting.stop === null) return fitting.name;
  var touching = legs.filter(function (leg) { return leg.pull.feed === fitting.name || leg.pull.pull === fitting.name; });
  if (touching.length && touching.every(function (leg) { return leg.pull.feed === fitting.name; })) return 'Feed · ' + fitting.name;
  if (touching.length && touching.every(function (leg) { return leg.pull.pull === fitting.name; })) return 'Pull · ' + fitting.name;
  return fitting.name;
}

function chipsNow(project, brief) {
  var chips = [], mark = markNow(), crowded = D.stops.length > MOST_NAMED + 2;
  if (mark) chips.push(chip('worst', mark.title, brief ? '' : mark.detail, project(worldAt(mark.station))));
  D.fittings.forEach(function (fitting, n) {
    var box = view.boxes.find(function (b) { return b.fitting === n; }), ends = n === 0 || n === D.fittings.length - 1;
    var used = ends || isUsed(fitting), own = box ? 0.5 * (Math.hypot.apply(null, box.half[0]) + Math.hypot.apply(null, box.half[2])) * 2 / metersPerPixel() : 0;
    var title = used ? roleOf(fitting) : fitting.stop === null ? fitting.name : fitting.name + ' left out';
    if (crowded && !ends) title = fitting.name;
    chips.push(chip(ends ? 'end' : crowded ? 'number' : 'box', title, '', project(box ? box.center : fitting.point), { own: Math.max(14, own), muted: !used }));
  });
  S.bends.forEach(function (bend) {
    var at = project(bend.point), out = project(add(bend.point, bend.outward, 1)), x = out[0] - at[0], y = out[1] - at[1], size = Math.hypot(x, y);
    var named = S.named_bends && !(brief && S.bends.length > 8);
    chips.push(chip(named && !brief ? 'bend' : 'number', named && !brief ? bend.title : bend.name, named && !brief ? bend.detail : '', at, { away: size > 0.5 ? [x / size, y / size] : null }));
  });
  if (legs.length > 1 && legs.length <= MOST_NAMED && !brief) {
    // the figure of the quantity in color; beside station and elevation tension, without a color
    var quantity = chartQuantity(), scale = scaleOf(quantity), colored = quantity === state.quantity;
    legs.forEach(function (leg) {
      var most = legWorst(leg, quantity), parts = [leg.leg.length, leg.leg.degrees];
      var told = most ? most.figure.text : shown(0, quantity === 'sidewall' ? 'pressure' : 'force');
      if (most && most.figure.of) parts.push(most.figure.of);
      chips.push(chip('leg', leg.name + '   ' + told, parts.join(' · '), project(worldAt(legMiddle(leg))), { color: colored ? css(colorOf(most ? most.size : 0, scale)) : null }));
    });
  }
  return chips;
}

// The whole view as lines and faces, far ones first: for paper, where it stays sharp, and for
// browsers that cannot draw solids.
var flat = false;

function drawFlat(project, painted, b) {
  var floor = S.floor, ground = bytes(T.ground), grid = bytes(T.grid), width = 2 * view.radius / metersPerPixel();
  function line(points, color, wide, more) {
    svg(over, 'polyline', Object.assign({ points: polyline(points.map(project)), fill: 'none', stroke: color, 'stroke-width': wide }, more || {}));
  }
  floor.lines.forEach(function (at) {
    var other = 1 - at[0], low = floor.low[other], high = floor.high[other], parts = 16;
    for (var n = 0; n < parts; n++) {
      var pair = [n, n + 1].map(function (k) {
        var p = [0, 0, floor.z];
        p[at[0]] = at[1]; p[other] = low + (high - low) * k / parts;
        return p;
      });
      line(pair, css(mixed(ground, grid, fading((pair[0][0] + pair[1][0]) / 2, (pair[0][1] + pair[1][1]) / 2))), 1);
    }
  });
  var shadow = S.points.map(function (p) { return [p[0], p[1], floor.z]; }), round = { 'stroke-linejoin': 'round', 'stroke-linecap': 'round' };
  [1.8, 1.2, 0.7].forEach(function (spread, level) { line(shadow, T.shadows[level], width * spread, round); });
  view.drops.forEach(function (drop) { line(drop, T.drop_line, 0.8); });
  var things = [], chunk = 8;
  for (var first = 0; first < cells; first += chunk) things.push(tubePiece(first, Math.min(first + chunk, cells), width, b));
  view.boxes.forEach(function (box) {
    var fitting = D.fittings[box.fitting], used = fitting.stop === null || isUsed(fitting);
    things.push({ depth: dot(box.center, b.toward), draw: function () { drawFaces(box, used, project, b); } });
  });
  things.sort(function (one, other) { return one.depth - other.depth; });
  things.forEach(function (thing) { thing.draw(project, painted); });
}

function tubePiece(first, last, width, b) {
  return {
    depth: dot(S.points[(first + last) >> 1], b.toward),
    draw: function (project, painted) {
      var points = S.points.slice(first, last + 1).map(project);
      svg(over, 'polyline', { points: polyline(points), fill: 'none', stroke: T.outline, 'stroke-width': width + 2.4, 'stroke-linejoin': 'round' });
      for (var n = first; n < last; n++) {
        var p = points[n - first], q = points[n - first + 1], size = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1, more = 0.6 / size;
        svg(over, 'line', {
          x1: p[0] - (q[0] - p[0]) * more, y1: p[1] - (q[1] - p[1]) * more, x2: q[0] + (q[0] - p[0]) * more, y2: q[1] + (q[1] - p[1]) * more,
          stroke: painted[n].ring ? T.ring : css(painted[n].colors[0]), 'stroke-width': width, class: 'cell'
        });
      }
    }
  };
}

function drawFaces(box, used, project, b) {
  for (var n = 0; n < box.points.length; n += 4) {
    var face = box.points.slice(n, n + 4);
    if (dot(cross(add(face[1], face[0], -1), add(face[2], face[0], -1)), b.toward) <= 0) continue;
    svg(over, 'polygon', {
      points: polyline(face.map(project)), fill: used ? boxColor(box, n) : 'none', stroke: T.equipment_edge, 'stroke-linejoin': 'round',
      'stroke-dasharray': used ? 'none' : '3 3'
    });
  }
}

function drawArrows(project, painted) {
  S.straights.forEach(function (straight) {
    var low = straight.stations[0], high = straight.stations[1], a = project(straight.from), b = project(straight.to);
    var size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (size < 34) return;
    var count = Math.max(1, Math.round(size / 75));
    for (var n = 0; n < count; n++) {
      var part = (n + 0.5) / count, station = low + (high - low) * part, cell = cellAt(station), leg = legOfCell(cell);
      var near = D.fittings.some(function (f) { return Math.abs(f.station - station) / (high - low) * size < 24; });
      if (near) continue;
      var sign = leg.way === 'forward' ? 1 : -1, ux = sign * (b[0] - a[0]) / size, uy = sign * (b[1] - a[1]) / size;
      var x = a[0] + (b[0] - a[0]) * part, y = a[1] + (b[1] - a[1]) * part, h = 4.2;
      var color = painted[cell].colors[0], dark = 0.2126 * color[0] + 0.7152 * color[1] + 0.0722 * color[2] > 118;
      svg(over, 'path', {
        d: 'M' + (x + ux * 6) + ' ' + (y + uy * 6) + 'L' + (x - ux * 4 - uy * h) + ' ' + (y - uy * 4 + ux * h) + 'L' + (x - ux * 2) + ' ' + (y - uy * 2) + 'L' + (x - ux * 4 + uy * h) + ' ' + (y - uy * 4 - ux * h) + 'Z',
        fill: painted[cell].passed ? (dark ? '#1B2229' : '#FFFFFF') : T.muted
      });
    }
  });
}

function ringMark(parent, x, y) {
  svg(parent, 'circle', { cx: x, cy: y, r: 8.5, fill: '#FFFFFF' });
  svg(parent, 'circle', { cx: x, cy: y, r: 6.9, fill: 'none', stroke: '#1B2229', 'stroke-width': 2 });
  svg(parent, 'circle', { cx: x, cy: y, r: 3, fill: '#1B2229' });
}

function drawChip(item) {
  var r = item.pick.rect, dark = item.kind === 'worst', strong = item.kind === 'end' || item.kind === 'box';
  var ink = dark ? T.inverted_ink : item.muted ? T.muted : T.ink, pad = item.kind === 'number' ? 4 : 10;
  var group = svg(over, 'g', { class: 'chip ' + item.kind });
  svg(group, 'rect', {
    x: r[0], y: r[1], width: r[2] - r[0], height: r[3] - r[1], rx: 4, fill: dark ? T.inverted : T.chip, 'fill-opacity': dark ? 1 : 0.94,
    stroke: dark ? T.inverted : strong && !item.muted ? T.ink : T.chip_border, 'stroke-width': 1
  });
  var left = r[0] + pad + (item.color ? 4 : 0);
  if (item.color) svg(group, 'rect', { x: r[0] + 3, y: r[1] + 4, width: 4, height: r[3] - r[1] - 8, fill: item.color, stroke: T.outline, 'stroke-width': 0.5 });
  svg(group, 'text', { x: left, y: r[1] + (item.kind === 'number' ? 13 : 17), 'font-size': item.kind === 'number' ? 12 : 13, 'font-weight': 'bold', style: 'fill:' + ink }, item.title);
  if (item.detail) svg(group, 'text', { x: left, y: r[1] + 33, 'font-size': 12, style: 'fill:' + (dark ? T.inverted_muted : T.muted) }, item.detail);
}

// A bend's dot; where it would hide the bend's own color it wears it, ringed over the
// limit unless the mark of the worst place or the head stands there.
function drawDot(bend, project, painted, mark) {
  var p = project(bend.point), told = hiddenColor(bend, project, painted);
  var marked = mark && bend.stations[0] <= mark.station && mark.station <= bend.stations[1];
  if (told && told.over && !marked) {
    svg(over, 'circle', { cx: p[0], cy: p[1], r: 8, fill: '#FFFFFF' });
    svg(over, 'circle', { cx: p[0], cy: p[1], r: 7.2, fill: 'none', stroke: '#1B2229', 'stroke-width': 1.6, class: 'bend-over' });
  }
  svg(over, 'circle', { cx: p[0], cy: p[1], r: told ? 4.4 : 3.2, fill: told ? css(told.color) : '#FFFFFF', stroke: '#1B2229', 'stroke-width': 1, class: 'bend-dot' });
}

// The color of a bend whose arc on screen is mostly under its dot, where the quantity sets in at
// bends; null for longer arcs and raceway the head has not reached.
function hiddenColor(bend, project, painted) {
  if (state.quantity !== 'sidewall' && state.quantity !== 'share') return null;
  var middle = (bend.stations[0] + bend.stations[1]) / 2, scale = scaleOf(state.quantity), most = null, long = 0, last = null, near = D.length * 1e-6;
  for (var cell = cellAt(bend.stations[0]); cell < cells && D.edges[cell] < bend.stations[1] - near; cell++) {
    if (D.edges[cell + 1] < bend.stations[0] + near) continue;
    var at = project(S.points[cell + 1]), from = last || project(S.points[cell]);
    long += Math.hypot(at[0] - from[0], at[1] - from[1]);
    last = at;
    most = Math.max(most === null ? -1e300 : most, valueAt(cell, 0, state.quantity), valueAt(cell, 1, state.quantity));
  }
  if (most === null || long > 12.8 || !painted[cellAt(middle)].passed) return null;
  return { color: colorOf(most, scale), over: scale.limit !== null && most > scale.limit };
}

function drawOver() {
  var size = stageSize(), project = projector(), painted = paint(), b = basis(camera.azimuth, camera.elevation);
  painted.forEach(function (cell, n) { cell.ring = cell.over && isRing(n); });
  over.textContent = '';
  over.setAttribute('viewBox', '0 0 ' + size[0] + ' ' + size[1]);
  if (flat) drawFlat(project, painted, b);
  drawArrows(project, painted);
  drawTriad(size, b);
  var turning = stage.classList.contains('turning'), mark = markNow();
  S.bends.forEach(function (bend) { drawDot(bend, project, painted, mark); });
  if (turning) {
    if (mark) { var at = project(worldAt(mark.station)); ringMark(over, at[0], at[1]); }
    return;
  }
  var brief = size[0] < S.narrow_below, line = S.points.map(project);
  view.boxes.forEach(function (box) {
    for (var a = -1; a <= 1; a += 0.5) { for (var c = -1; c <= 1; c += 0.5) { line.push(project(add(add(box.center, box.half[0], a), box.half[2], c))); } }
  });
  var covered = coveredBy(size, line, view.radius / metersPerPixel());
  var blocked = [[0, size[1] - (brief ? 152 : 108), 104, size[1]], [size[0] - (brief ? size[0] : 350), size[1] - 40, size[0], size[1]]];
  var kept = placed(chipsNow(project, brief), size, covered, blocked);
  kept.forEach(function (item) {
    if (item.kind === 'leg') svg(over, 'rect', { x: item.anchor[0] - 3, y: item.anchor[1] - 3, width: 6, height: 6, fill: '#FFFFFF', stroke: '#1B2229' });
    svg(over, 'line', { x1: item.anchor[0], y1: item.anchor[1], x2: item.pick.foot[0], y2: item.pick.foot[1], stroke: T.ink, 'stroke-width': 0.9 });
  });
  if (mark) { var ring = project(worldAt(mark.station)); ringMark(over, ring[0], ring[1]); }
  kept.forEach(drawChip);
}
