// The triad: north, east and up in their true lengths, as lines and letters that never meet.
// Letters stand at the end of their arm, or turned about it where an arm or other letters are in
// the way; up stands beside the level arms where it would lie along one of them.
var ARM = 27, ARROW = 5, TURNS = [0, 25, -25, 50, -50, 75, -75, 100, -100, 130, -130], ASIDE = [0, -20, 20, -30, 30];

function turned(way, degrees) {
  var c = Math.cos(degrees * Math.PI / 180), s = Math.sin(degrees * Math.PI / 180);
  return [c * way[0] - s * way[1], s * way[0] + c * way[1]];
}

function runsThrough(line, middle, half) {
  var dx = line[1][0] - line[0][0], dy = line[1][1] - line[0][1], last = 1 + ARROW / Math.hypot(dx, dy);
  for (var n = 0; n <= 40; n++) {
    var x = line[0][0] + dx * last * n / 40, y = line[0][1] + dy * last * n / 40;
    if (Math.abs(x - middle[0]) < half[0] && Math.abs(y - middle[1]) < half[1]) return true;
  }
  return false;
}

function standsFree(arm, found, lines) {
  var room = [arm.half[0] + 1.5, arm.half[1] + 1.5];
  if (lines.concat([arm.line]).some(function (line) { return runsThrough(line, arm.letters, room); })) return false;
  return !found.some(function (other) {
    var met = [0, 1].every(function (k) { return Math.abs(arm.letters[k] - other.letters[k]) < arm.half[k] + other.half[k] + 4; });
    return met || runsThrough(arm.line, other.letters, [other.half[0] + 1.5, other.half[1] + 1.5]);
  });
}

function triadArms(b) {
  var level = {}, found = [], ways = {};
  [['N', [0, 1, 0]], ['E', [1, 0, 0]], ['Up', [0, 0, 1]]].forEach(function (axis) {
    var way = [dot(axis[1], b.right) * ARM, -dot(axis[1], b.up) * ARM];
    if (Math.hypot(way[0], way[1]) < 5) return;
    ways[axis[0]] = way;
    if (axis[0] !== 'Up') level[axis[0]] = [[0, 0], way];
  });
  Object.keys(ways).forEach(function (name) {
    var way = ways[name], long = Math.hypot(way[0], way[1]), ahead = [way[0] / long, way[1] / long], options = [];
    var beside = Object.keys(level).some(function (key) {
      var other = level[key][1];
      return ahead[0] * other[0] + ahead[1] * other[1] > Math.cos(25 * Math.PI / 180) * Math.hypot(other[0], other[1]);
    });
    (level[name] ? [0] : beside ? ASIDE.slice(1) : ASIDE).forEach(function (shift) {
      TURNS.forEach(function (degrees) {
        (name === 'N' ? [14] : [11, 14]).forEach(function (far) {
          var end = [way[0] + shift, way[1]], at = turned(ahead, degrees);
          options.push({
            name: name, line: [[shift, 0], end], ahead: ahead, letters: [end[0] + at[0] * far, end[1] + at[1] * far],
            half: [widthOf(name, 12, name === 'N') / 2, 6]
          });
        });
      });
    });
    var others = Object.keys(level).filter(function (key) { return key !== name; }).map(function (key) { return level[key]; });
    found.push(options.find(function (arm) { return standsFree(arm, found, others); }) || options[0]);
  });
  return found;
}

function drawTriad(size, b) {
  var low = size[1] - (size[0] < S.narrow_below ? 44 : 0), x = 52, y = low - 62, group = svg(over, 'g', { class: 'triad' });
  triadArms(b).forEach(function (arm) {
    var bold = arm.name === 'N', end = arm.line[1], u = arm.ahead;
    svg(group, 'line', { x1: x + arm.line[0][0], y1: y + arm.line[0][1], x2: x + end[0], y2: y + end[1], stroke: bold ? T.ink : T.muted, 'stroke-width': bold ? 2.2 : 1.2 });
    if (bold) svg(group, 'path', { d: 'M' + (x + end[0] + u[0] * 4) + ' ' + (y + end[1] + u[1] * 4) + 'l' + (-u[0] * 8 - u[1] * 3.6) + ' ' + (-u[1] * 8 + u[0] * 3.6) + 'l' + (u[1] * 7.2) + ' ' + (-u[0] * 7.2) + 'Z', fill: T.ink });
    svg(group, 'text', { x: x + arm.letters[0], y: y + arm.letters[1] + 4, 'text-anchor': 'middle', 'font-size': 12, 'font-weight': bold ? 'bold' : 'normal', class: bold ? '' : 'muted' }, arm.name);
  });
  svg(group, 'text', { x: 10, y: low - 4, 'font-size': 12, class: 'muted halo' }, S.grid);
}
