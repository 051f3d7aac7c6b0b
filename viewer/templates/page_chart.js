// The charts: the quantity along the run with limit, bends and boxes, and the elevation below it;
// both share the run's distance, feed at the left, and the tube's colors. And the legend.
var chart = el('chart'), strip = el('strip'), LEFT = 58, RIGHT = 12;

function chartQuantity() { return state.quantity === 'sidewall' || state.quantity === 'share' ? state.quantity : 'tension'; }

function unitOf(quantity) {
  if (quantity === 'share') return '% of limit';
  if (quantity === 'elevation' || quantity === 'station') return D.units.length[0][3];
  return D.units[quantity === 'sidewall' ? 'pressure' : 'force'][0][3];
}

// a tick's number, in the unit of the title
function tick(value, quantity) {
  if (quantity === 'elevation' || quantity === 'station') return fixed(value, Math.abs(value) < 10 && value % 1 ? 1 : 0);
  var share = quantity === 'share', rule = share ? [0, 100, 0] : D.units[quantity === 'sidewall' ? 'pressure' : 'force'][0], number = value * rule[1];
  // as on every scale of the product: from a million on by its power of ten
  if (Math.abs(number) >= 1e6) return number.toExponential(2).replace(/\.?0+e/, 'e').replace('e+', 'e');
  var decimals = rule[2] || (!share && number !== 0 && Math.abs(number) < 9.95 ? 1 : 0);
  var text = fixed(number, decimals);
  return text.indexOf('.') >= 0 ? text.replace(/\.?0+$/, '') : text;
}

function nice(size, count) {
  var raw = size / count, power = Math.pow(10, Math.floor(Math.log10(raw)));
  return power * [1, 2, 2.5, 5, 10].find(function (step) { return raw <= step * power * 1.0001; });
}

function frameOf(node, top, bottom, low, high) {
  var width = Math.max(node.clientWidth, 240), height = node.clientHeight, flipped = !feedLeft();
  node.setAttribute('viewBox', '0 0 ' + width + ' ' + height);
  return {
    width: width, height: height, top: top, bottom: height - bottom, flipped: flipped,
    x: function (station) {
      var part = station / D.length;
      return LEFT + (flipped ? 1 - part : part) * (width - LEFT - RIGHT);
    },
    y: function (value) { return height - bottom - (value - low) / (high - low) * (height - bottom - top); }
  };
}

function bands(parent, frame, names) {
  var ends = -1e9, list = frame.flipped ? S.bends.slice().reverse() : S.bends;
  list.forEach(function (bend) {
    var a = frame.x(bend.stations[0]), b = frame.x(bend.stations[1]), left = Math.min(a, b), wide = Math.max(Math.abs(b - a), 2);
    svg(parent, 'rect', { x: left, y: frame.top, width: wide, height: frame.bottom - frame.top, fill: T.band });
    var middle = left + wide / 2, size = widthOf(bend.name, 12, false);
    if (names && middle - size / 2 > ends + 3) {
      svg(parent, 'text', { x: middle, y: frame.top - 5, 'text-anchor': 'middle', 'font-size': 12, class: 'muted' }, bend.name);
      ends = middle + size / 2;
    }
  });
}

function boxLines(parent, frame, names) {
  var last = -1e9, inner = D.fittings.slice(1, -1).filter(function (f) { return f.stop !== null; }), wide = inner.length > MOST_NAMED ? 1.2 : 2.2;
  inner.forEach(function (fitting) {
    var x = frame.x(fitting.station), used = isUsed(fitting);
    svg(parent, 'line', { x1: x, y1: frame.top, x2: x, y2: frame.bottom, stroke: used ? T.ink : T.muted, 'stroke-width': used ? wide : 1, 'stroke-dasharray': used ? 'none' : '2 4' });
  });
  if (!names) return;
  // names over all lines, each where it has room
  (frame.flipped ? inner.slice().reverse() : inner).forEach(function (fitting) {
    var x = frame.x(fitting.station), used = isUsed(fitting), text = used ? fitting.name : fitting.name + ' left out';
    var size = widthOf(text, 12, true), right = x + 5 + size > frame.width, low = right ? x - 5 - size : x + 5;
    if (low < last) return;
    svg(parent, 'text', { x: right ? x - 5 : x + 5, y: frame.top + 12, 'text-anchor': right ? 'end' : 'start', 'font-size': 12, 'font-weight': 'bold', class: used ? 'halo' : 'halo muted' }, text);
    last = low + size + 8;
  });
}

function axes(parent, frame, ticks, quantity, distances) {
  svg(parent, 'path', { d: 'M' + LEFT + ' ' + frame.top + 'V' + frame.bottom + 'H' + (frame.width - RIGHT), fill: 'none', stroke: T.muted });
  ticks.forEach(function (value) {
    var y = frame.y(value);
    svg(parent, 'line', { x1: LEFT - 4, x2: LEFT, y1: y, y2: y, stroke: T.muted });
    svg(parent, 'text', { x: LEFT - 8, y: y + 4, 'text-anchor': 'end', 'font-size': 12 }, tick(value, quantity));
  });
  var step = nice(D.length, frame.width < 500 ? 4 : 8);
  for (var distance = 0; distance <= D.length * 1.0001; distance += step) {
    var x = frame.x(frame.flipped ? D.length - distance : distance);
    svg(parent, 'line', { x1: x, x2: x, y1: frame.bottom, y2: frame.bottom + 4, stroke: T.muted });
    if (distances) svg(parent, 'text', { x: x, y: frame.bottom + 17, 'text-anchor': 'middle', 'font-size': 12 }, tick(distance, 'station'));
  }
}

function polyline(points) { return points.map(function (p) { return p[0].toFixed(1) + ',' + p[1].toFixed(1); }).join(' '); }

// unbroken stretches of cells of one leg, all passed by the head or all ahead of it
function pieces(painted) {
  var found = [], now = null;
  painted.forEach(function (cell, n) {
    var leg = legOfCell(n);
    if (!now || now.leg !== leg || now.passed !== cell.passed) { now = { leg: leg, passed: cell.passed, cells: [] }; found.push(now); }
    now.cells.push(n);
  });
  return found;
}

function curve(parent, frame, painted, quantity, limit, under) {
  pieces(painted).forEach(function (piece) {
    var line = [];
    piece.cells.forEach(function (n) {
      line.push([frame.x(D.edges[n]), frame.y(valueAt(n, 0, quantity))], [frame.x(D.edges[n + 1]), frame.y(valueAt(n, 1, quantity))]);
    });
    if (!piece.passed && under) {
      svg(parent, 'polyline', { points: polyline(line), fill: 'none', stroke: T.muted, 'stroke-width': 1.3, 'stroke-dasharray': '2 3' });
      return;
    }
    if (under) {
      piece.cells.forEach(function (n, k) {
        var a = line[2 * k], b = line[2 * k + 1], grow = frame.flipped ? -0.4 : 0.4;
        svg(parent, 'polygon', { points: polyline([a, [b[0] + grow, b[1]], [b[0] + grow, frame.bottom], [a[0], frame.bottom]]), fill: css(painted[n].colors[0]), 'fill-opacity': 0.3 });
      });
      if (limit !== null) hatch(parent, frame, line, limit);
    }
    svg(parent, 'polyline', { points: polyline(line), fill: 'none', stroke: T.outline, 'stroke-width': 6.4, 'stroke-linejoin': 'round' });
    piece.cells.forEach(function (n, k) {
      var a = line[2 * k], b = line[2 * k + 1], size = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, more = 0.5 / size;
      svg(parent, 'line', { x1: a[0], y1: a[1], x2: b[0] + (b[0] - a[0]) * more, y2: b[1] + (b[1] - a[1]) * more, stroke: css(painted[n].colors[0]), 'stroke-width': 4.2 });
    });
  });
}

function hatch(parent, frame, line, limit) {
  var base = frame.y(limit), next = null;
  line.forEach(function (p) {
    if (next === null || Math.abs(p[0] - next) >= 9) {
      next = p[0];
      if (p[1] < base - 1) svg(parent, 'line', { x1: p[0], x2: p[0], y1: p[1], y2: base, stroke: T.ink, 'stroke-opacity': 0.55, 'stroke-width': 0.9 });
    }
  });
}

function drawChart() {
  var quantity = chartQuantity(), limit = limitOf(quantity), painted = paint(), head = headNow(), worst = worstNow(quantity);
  var top = worst ? worst.size : 0;
  top = limit !== null ? Math.max(1.15 * limit, 1.18 * top) : 1.2 * (top || 1);
  var frame = frameOf(chart, 26, 8, 0, top);
  chart.textContent = '';
  var names = { tension: 'Head tension along the run', sidewall: 'Sidewall pressure along the run', share: 'Share of limit along the run: tension or sidewall pressure, the larger' };
  el('chart-title').textContent = names[quantity] + ', ' + unitOf(quantity) + ' · ' + frictionWords();
  bands(chart, frame, true);
  curve(chart, frame, painted, quantity, limit, true);
  var ticks = [0], step;
  if (limit !== null) {
    if (top < 1.5 * limit) ticks = [0, limit / 3, 2 * limit / 3, limit];
    else {
      for (var power = 1; !step; power *= 10) step = [power, 2 * power, 5 * power].find(function (n) { return top / limit / n < 4.5; });
      for (var n = 1; n * step * limit < top; n++) ticks.push(n * step * limit);
      if (step > 1 && frame.bottom - frame.y(limit) > 14) ticks.push(limit);
    }
    var y = frame.y(limit);
    svg(chart, 'line', { x1: LEFT, x2: frame.width - RIGHT, y1: y, y2: y, stroke: T.ink, 'stroke-width': 1.5, 'stroke-dasharray': '6 3' });
  } else {
    step = nice(top, 4);
    for (var m = 1; m * step < top; m++) ticks.push(m * step);
  }
  boxLines(chart, frame, true);
  if (limit !== null) svg(chart, 'text', { x: LEFT + 6, y: frame.y(limit) - frame.top < 34 ? frame.y(limit) + 15 : frame.y(limit) - 5, 'font-size': 12, 'font-weight': 'bold', class: 'halo' }, limitWords(quantity));
  axes(chart, frame, ticks, quantity, false);
  var place = null, value = 0, text = '';
  if (head) {
    place = head.station; value = between(head.cell, head.station, quantity);
    text = quantity === 'share' ? ofLimit(value) : shown(value, quantity === 'sidewall' ? 'pressure' : 'force');
    svg(chart, 'line', { x1: frame.x(place), x2: frame.x(place), y1: frame.top, y2: frame.bottom, stroke: T.ink, 'stroke-width': 1.2 });
  } else if (worst) {
    place = worst.figure.station; value = worst.size;
    text = quantity === 'share' ? worst.figure.of : worst.figure.text;
  }
  if (place !== null) {
    var x = frame.x(place), above = frame.y(value), size = widthOf(text, 13, true), left = x - size - 12 > LEFT;
    svg(chart, 'text', { x: left ? x - 5 : x + 9, y: Math.max(above - 12, frame.top + 9), 'text-anchor': left ? 'end' : 'start', 'font-size': 13, 'font-weight': 'bold', class: 'halo' }, text);
    ringMark(chart, x, above);
  }
  drawStrip(painted, head);
}

function drawStrip(painted, head) {
  var low = Math.min.apply(null, D.elevations), high = Math.max.apply(null, D.elevations), room = Math.max(0.18 * (high - low), 0.3);
  var frame = frameOf(strip, 6, 22, low - room, high + room);
  strip.textContent = '';
  bands(strip, frame, false);
  curve(strip, frame, painted, 'elevation', null, false);
  boxLines(strip, frame, false);
  var step = nice(Math.max(high - low, 2 * room), 2), ticks = [];
  for (var value = Math.ceil((low - room) / step) * step; value < high + room; value += step) ticks.push(value);
  axes(strip, frame, ticks, 'elevation', true);
  if (head) {
    var x = frame.x(head.station);
    svg(strip, 'line', { x1: x, x2: x, y1: frame.top, y2: frame.bottom, stroke: T.ink, 'stroke-width': 1.2 });
    ringMark(strip, x, frame.y(between(head.cell, head.station, 'elevation')));
  }
  el('strip-title').textContent = 'Elevation, ' + unitOf('elevation');
  var from = D.fittings[feedLeft() ? 0 : D.fittings.length - 1].name;
  el('axis-title').textContent = 'distance from ' + from + ', ' + unitOf('station') + ' · along the run, so a vertical shows as a slope';
}

function limitWords(quantity) {
  return quantity === 'share' ? 'limit' : 'limit ' + D.limits[quantity].text + (quantity === 'tension' ? ' (' + D.limits.tension.of + ')' : '');
}

var TITLES = { tension: 'Pulling tension', sidewall: 'Sidewall pressure', share: 'Share of limit', elevation: 'Elevation', station: 'Station' };

function drawLegend() {
  var node = el('legend'), width = Math.max(node.clientWidth, 200) - 8, quantity = state.quantity, scale = scaleOf(quantity), columns = 240;
  var bar = { x: 4, y: 34, h: 13 };
  node.textContent = '';
  node.setAttribute('viewBox', '0 0 ' + (width + 8) + ' 74');
  svg(node, 'text', { x: bar.x, y: 12, 'font-size': 13.5, 'font-weight': 'bold' }, TITLES[quantity] + ', ' + unitOf(quantity));
  if (quantity !== 'elevation' && quantity !== 'station') svg(node, 'text', { x: bar.x + width, y: 12, 'text-anchor': 'end', 'font-size': 12, class: 'muted' }, frictionWords());
  for (var n = 0; n < columns; n++) {
    var value = scale.low + (n + 0.5) / columns * (scale.high - scale.low);
    svg(node, 'rect', { x: bar.x + n * width / columns, y: bar.y, width: width / columns + 0.6, height: bar.h, fill: css(colorOf(value, scale)) });
  }
  svg(node, 'rect', { x: bar.x, y: bar.y, width: width, height: bar.h, fill: 'none', stroke: T.outline });
  function label(value, align) {
    var x = bar.x + (value - scale.low) / (scale.high - scale.low) * width;
    svg(node, 'text', { x: x, y: bar.y + bar.h + 15, 'text-anchor': align, 'font-size': 12 }, tick(value, quantity));
  }
  if (scale.limit === null) {
    label(scale.low, 'start'); label((scale.low + scale.high) / 2, 'middle'); label(scale.high, 'end');
    if (quantity === 'tension') svg(node, 'text', { x: bar.x, y: 29, 'font-size': 12, 'font-weight': 'bold' }, 'limit not known');
    return;
  }
  var at = bar.x + width / D.map.top;
  for (var ring = 1; ring < 20; ring++) {
    var x = at + ring * width / 30;
    if (x < bar.x + width - 1) svg(node, 'line', { x1: x, x2: x, y1: bar.y, y2: bar.y + bar.h, stroke: T.ring, 'stroke-width': 2 });
  }
  svg(node, 'line', { x1: at, x2: at, y1: bar.y - 3, y2: bar.y + bar.h + 3, stroke: T.ink, 'stroke-width': 2.4 });
  svg(node, 'text', { x: at, y: 29, 'text-anchor': 'middle', 'font-size': 12, 'font-weight': 'bold' }, quantity === 'share' ? 'limit' : 'limit ' + D.limits[quantity].text);
  svg(node, 'text', { x: bar.x + width, y: 29, 'text-anchor': 'end', 'font-size': 12, class: 'muted' }, 'over limit: ringed');
  label(0, 'start'); label(scale.limit / 3, 'middle'); label(2 * scale.limit / 3, 'middle'); label(2 * scale.limit, 'middle'); label(3 * scale.limit, 'end');
}

// a finger or pointer on a chart takes the head there
[chart, strip].forEach(function (node) {
  function take(event) {
    var box = node.getBoundingClientRect(), part = (event.clientX - box.left - LEFT) / (box.width - LEFT - RIGHT);
    setWalked(Math.min(Math.max(part, 0), 1));
  }
  node.addEventListener('pointerdown', function (event) { take(event); });
  node.addEventListener('pointermove', function (event) { if (event.buttons === 1) take(event); });
});
