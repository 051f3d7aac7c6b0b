// What is chosen, and the legs that follow from it. Nothing is calculated but the reading of
// curves between their points: every figure in a table comes ready from the analyzer.
// P holds what all runs share and every run; D is the run in view, S its shape.
var P = JSON.parse(document.getElementById('page-data').textContent);
var T = P.theme, D = null, S = null, legs = [], cells = 0;
var state = { run: 0, way: P.opens.way, friction: P.opens.friction, quantity: 'tension', walked: 1, on: [] };

function el(id) { return document.getElementById(id); }

function made(tag, text, name) {
  var node = document.createElement(tag);
  if (text !== undefined && text !== null) node.textContent = text;
  if (name) node.className = name;
  return node;
}

// numbers, written as everywhere else in the product
function fixed(value, decimals) {
  var text = Math.abs(value).toFixed(decimals), parts = text.split('.');
  parts[0] = parts[0].replace(/\B(?=(\d{3})+$)/g, ',');
  var sign = value < 0 && Number(text) !== 0 ? '-' : '';
  return sign + parts.join('.');
}

function shown(value, kind) {
  var rules = P.units[kind];
  for (var i = 0; i < rules.length; i++) {
    if (Math.abs(value) >= rules[i][0]) return fixed(value * rules[i][1], rules[i][2]) + ' ' + rules[i][3];
  }
  return '';
}

function ofLimit(share) {
  if (share <= 1) {
    var percent = share * 100;
    if (percent > 0 && percent < 9.95) return percent >= 0.05 ? percent.toFixed(1) + ' % of limit' : 'under 0.1 % of limit';
    if (percent < 100 && Math.round(percent) >= 100) return (Math.floor(percent * 10) / 10).toFixed(1) + ' % of limit';
    return percent.toFixed(0) + ' % of limit';
  }
  if (share > 1000) return 'over 1,000 × limit';
  for (var decimals = 1; decimals <= 6; decimals++) {
    var text = share.toFixed(decimals);
    if (Number(text) > 1 && (share >= 1.95 || decimals > 1)) return (share >= 999.95 ? '1,000.0' : text) + ' × limit';
  }
  return 'just over 1 × limit';
}

// rows of numbers, kept packed until they are asked for
var rowsRead = [];
function row(number) {
  if (!rowsRead[number]) {
    var text = atob(P.series[number]), raw = new Uint8Array(text.length);
    for (var n = 0; n < text.length; n++) raw[n] = text.charCodeAt(n);
    rowsRead[number] = new Float32Array(raw.buffer);
  }
  return rowsRead[number];
}

function triples(number) {
  var flat = row(number), found = [];
  for (var n = 0; n < flat.length; n += 3) found.push([flat[n], flat[n + 1], flat[n + 2]]);
  return found;
}

// The run in view: between two knots it goes straight on, cut into cells short enough for color.
function openRun(number) {
  var run = P.runs[number], knots = row(run.knots), shape = run.scene, step = run.length / 420;
  var all = [triples(shape.points), triples(shape.first), triples(shape.second)], made = [[], [], []];
  state.run = number;
  state.on = run.stops.slice(1, -1).map(function () { return true; });
  state.walked = 1;
  D = Object.assign({}, P, run, { edges: [], cellOf: [] });
  for (var k = 0; k < knots.length; k++) {
    var parts = k + 1 < knots.length ? Math.max(1, Math.ceil((knots[k + 1] - knots[k]) / step - 1e-6)) : 1;
    D.cellOf.push(D.edges.length);
    for (var n = 0; n < parts; n++) {
      D.edges.push(n ? knots[k] + (knots[k + 1] - knots[k]) * n / parts : knots[k]);
      made.forEach(function (list, which) { list.push(n ? mixed(all[which][k], all[which][k + 1], n / parts) : all[which][k]); });
    }
  }
  D.edges[D.edges.length - 1] = run.length;
  S = Object.assign({}, shape, { points: made[0], first: made[1], second: made[2] });
  D.fittings = run.fittings.map(function (fitting, n) { return Object.assign({ point: shape.fittings[n] }, fitting); });
  D.elevations = S.points.map(function (p) { return p[2] / P.units.meters; });
  cells = D.edges.length - 1;
  legs = compose();
}

// legs
function inUse() {
  var last = D.stops.length - 1;
  return D.stops.map(function (stop, n) { return n; }).filter(function (n) { return n === 0 || n === last || state.on[n - 1]; });
}

function legKey(feed, start, end, far) {
  return feed === start && end === far ? start + '-' + end : [feed, start, end, far].join('-');
}

// stretches from one place where conductors are fed to the next, each as its stops
function stretchesOf(used, isFeed) {
  var found = [], now = [used[0]];
  used.slice(1).forEach(function (stop, n) {
    now.push(stop);
    if (n === used.length - 2 || isFeed(stop)) { found.push(now); now = [stop]; }
  });
  return found;
}

function legsOf(stretch) {
  return stretch.slice(1).map(function (stop, n) { return legKey(stretch[0], stretch[n], stop, stretch[stretch.length - 1]); });
}

function compose() {
  var found = [];
  stretchesOf(inUse(), function (stop) { return !D.stops[stop].through; }).forEach(function (stretch) {
    legsOf(stretch).forEach(function (key) {
      var leg = D.legs[key], way = state.way === 'better' ? leg.better || 'forward' : state.way, figures = leg[way].at[state.friction];
      var from = D.cellOf[leg.knots[0]], to = D.cellOf[leg.knots[1]];
      if (!figures.cells) figures.cells = onCells(figures.curve, from, to);
      found.push({ name: 'Leg ' + (found.length + 1), way: way, better: leg.better, leg: leg, pull: leg[way], figures: figures, curve: figures.cells, from: from, to: to });
    });
  });
  return found;
}

// A curve read at both ends of every cell. It gives joints twice; each part between such pairs is
// read by itself, so that a value that jumps at a joint jumps between two cells.
function onCells(curve, from, to) {
  var station = row(curve[0]), values = [row(curve[1]), row(curve[2])], found = [[], []], last = station.length - 1, at = 0;
  for (var cell = from; cell < to; cell++) {
    var ends = [D.edges[cell], D.edges[cell + 1]], middle = (ends[0] + ends[1]) / 2;
    while (at < last - 1 && station[at + 1] <= middle) at++;
    values.forEach(function (list, which) {
      ends.forEach(function (place) { found[which].push(last < 1 ? list[0] : readAt(station, list, at, place)); });
    });
  }
  return { tension: found[0], sidewall: found[1] };
}

// value at a place, within the unbroken part of the curve that holds entries `at` and the next
function readAt(station, list, at, place) {
  while (at > 0 && place < station[at] && station[at - 1] < station[at]) at--;
  while (at < station.length - 2 && place > station[at + 1] && station[at + 2] > station[at + 1]) at++;
  var size = station[at + 1] - station[at], part = size > 0 ? Math.min(Math.max((place - station[at]) / size, 0), 1) : 0;
  return list[at] + (list[at + 1] - list[at]) * part;
}

function feedLeft() { return legs.some(function (leg) { return leg.way === 'forward'; }); }

function legOfCell(cell) {
  return legs.find(function (leg) { return leg.from <= cell && cell < leg.to; }) || legs[legs.length - 1];
}

// value at one end (0 lower, 1 upper) of a cell
function valueAt(cell, end, quantity) {
  if (quantity === 'elevation') return D.elevations[cell + end];
  if (quantity === 'station') return D.edges[cell + end];
  var leg = legOfCell(cell), at = 2 * (cell - leg.from) + end, curve = leg.curve;
  if (quantity === 'share') {
    var shares = [];
    if (D.limits.tension) shares.push(curve.tension[at] / D.limits.tension.value);
    if (D.limits.sidewall) shares.push(curve.sidewall[at] / D.limits.sidewall.value);
    return Math.max.apply(null, shares);
  }
  return curve[quantity][at];
}

function between(cell, station, quantity) {
  var low = D.edges[cell], size = D.edges[cell + 1] - low;
  var part = size > 0 ? Math.min(Math.max((station - low) / size, 0), 1) : 0;
  return valueAt(cell, 0, quantity) * (1 - part) + valueAt(cell, 1, quantity) * part;
}

function cellAt(station) {
  var low = 0, high = cells - 1;
  while (low < high) {
    var middle = (low + high) >> 1;
    if (D.edges[middle + 1] < station) low = middle + 1; else high = middle;
  }
  return low;
}

// the limit of a quantity, in its own unit; null where it has none
function limitOf(quantity) {
  if (quantity === 'share') return 1;
  var limit = D.limits[quantity];
  return limit ? limit.value : null;
}

function bendAt(station) {
  return S.bends.find(function (bend) { return bend.stations[0] <= station && station <= bend.stations[1]; });
}

function fittingAt(station) {
  var near = D.length * 1e-5;
  return D.fittings.find(function (fitting) { return Math.abs(fitting.station - station) < near; });
}

function isUsed(fitting) {
  return fitting.stop !== null && (fitting.stop === 0 || fitting.stop === D.stops.length - 1 || state.on[fitting.stop - 1]);
}

// the head, as far along the legs in order of travel as the slider says; null when all is pulled
function headNow() {
  if (state.walked >= 1) return null;
  var rest = state.walked * D.length, order = feedLeft() ? legs : legs.slice().reverse();
  for (var i = 0; i < order.length; i++) {
    var leg = order[i], low = D.edges[leg.from], high = D.edges[leg.to];
    if (rest <= high - low || i === order.length - 1) {
      var into = Math.min(rest, high - low), ahead = leg.way === 'forward';
      var station = ahead ? low + into : high - into;
      var cell = Math.min(Math.max(cellAt(station), leg.from), leg.to - 1);
      return { leg: leg, turn: i, order: order, station: station, cell: cell };
    }
    rest -= high - low;
  }
  return null;
}

function passed(head, cell) {
  if (!head) return true;
  var turn = head.order.indexOf(legOfCell(cell));
  if (turn !== head.turn) return turn < head.turn;
  return head.leg.way === 'forward' ? cell < head.cell : cell > head.cell;
}

// the greatest figure of a leg for a quantity, and its size on the scale of that quantity
function legWorst(leg, quantity) {
  var wanted = quantity === 'sidewall' ? ['sidewall'] : quantity === 'share' ? ['tension', 'sidewall'] : ['tension'], best = null;
  wanted.forEach(function (kind) {
    var figure = leg.figures[kind], size = figure ? quantity === 'share' ? figure.share : figure.value : null;
    if (size !== null && (!best || size > best.size)) best = { size: size, leg: leg, kind: kind, figure: figure };
  });
  return best;
}

// the worst place of the quantity shown, and its leg
function worstNow(quantity) {
  var best = null;
  (feedLeft() ? legs : legs.slice().reverse()).forEach(function (leg) {
    var most = legWorst(leg, quantity);
    if (most && (!best || most.size > best.size)) best = most;
  });
  return best;
}

function fails() {
  var names = [];
  legs.forEach(function (leg) {
    leg.pull.fails.forEach(function (name) { if (names.indexOf(name) < 0) names.push(name); });
  });
  return names;
}

function listed(names) {
  if (names.length > 3) return names[0] + ', ' + names[1] + ' and ' + (names.length - 2) + ' more';
  if (names.length < 2) return names.join('');
  return names.slice(0, -1).join(', ') + ' and ' + names[names.length - 1];
}

// colors
function bytes(color) { return [1, 3, 5].map(function (i) { return parseInt(color.slice(i, i + 2), 16); }); }

function along(stops, part) {
  var place = Math.min(Math.max(part, 0), 1) * (stops.length - 1), low = Math.min(Math.floor(place), stops.length - 2);
  var a = stops[low], b = stops[low + 1], t = place - low;
  return [0, 1, 2].map(function (i) { return a[i] + (b[i] - a[i]) * t; });
}

var MAP = { cool: P.map.cool.map(bytes), hot: P.map.hot.map(bytes), plain: P.map.plain.map(bytes) };

function scaleOf(quantity) {
  var limit = limitOf(quantity);
  if (limit) return { limit: limit, low: 0, high: D.map.top * limit };
  if (quantity === 'station') return { limit: null, low: 0, high: D.length };
  if (quantity === 'elevation') {
    var low = Math.min.apply(null, D.elevations), high = Math.max.apply(null, D.elevations);
    return { limit: null, low: low, high: high > low ? high : low + 1 };
  }
  return { limit: null, low: 0, high: D.limits.tension_top };
}

function colorOf(value, scale) {
  if (scale.limit === null) return along(MAP.plain, (value - scale.low) / (scale.high - scale.low));
  var share = value / scale.limit;
  return share > 1 ? along(MAP.hot, (share - 1) / (D.map.top - 1)) : along(MAP.cool, share);
}

function css(color) { return 'rgb(' + color.map(Math.round).join(',') + ')'; }

// both ends of every cell: value, color, whether the head has passed; a color steps at the limit
// between two cells, never inside one
function paint() {
  var scale = scaleOf(state.quantity), head = headNow(), gray = bytes(T.not_reached), found = [];
  for (var cell = 0; cell < cells; cell++) {
    var a = valueAt(cell, 0, state.quantity), b = valueAt(cell, 1, state.quantity), over = false;
    if (scale.limit !== null) {
      over = (a + b) / 2 > scale.limit;
      if (over) { a = Math.max(a, scale.limit * (1 + 1e-9)); b = Math.max(b, scale.limit * (1 + 1e-9)); }
      else { a = Math.min(a, scale.limit); b = Math.min(b, scale.limit); }
    }
    var seen = passed(head, cell);
    found.push({
      passed: seen, over: over && seen,
      colors: seen ? [colorOf(a, scale), colorOf(b, scale)] : [gray, gray]
    });
  }
  return found;
}
