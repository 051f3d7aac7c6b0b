// The view: surfaces from the run's points and frames, drawn by plotly without light; own camera.
var SIDES = 14, TUBE = 5, BOXES = 6, EDGES = 7;
var gl = (function () {
  try {
    var canvas = document.createElement('canvas');
    return !!(canvas.getContext('webgl') || canvas.getContext('webgl2'));
  } catch (error) { return false; }
})();
var stage = el('stage'), plot = el('view');
var view = null, camera = null, drawn = false;

function add(a, b, factor) { return [a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]]; }
function dot(a, b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function basis(azimuth, elevation) {
  var a = azimuth * Math.PI / 180, e = elevation * Math.PI / 180;
  var toward = [Math.cos(e) * Math.cos(a), Math.cos(e) * Math.sin(a), Math.sin(e)];
  var right = [-Math.sin(a), Math.cos(a), 0];
  return { right: right, up: cross(toward, right), toward: toward };
}

function home() {
  camera = { azimuth: view.azimuth, elevation: view.elevation, focus: view.focus.slice(), zoom: 1 };
}

function stageSize() { return [Math.max(stage.clientWidth, 200), Math.max(stage.clientHeight, 150)]; }

function metersPerPixel() {
  var size = stageSize();
  return view.m_per_px * Math.max(view.width / size[0], view.height / size[1]) / camera.zoom;
}

// picture point of a world point, by the same parallel projection plotly draws with
function projector() {
  var b = basis(camera.azimuth, camera.elevation), size = stageSize(), scale = metersPerPixel();
  return function (p) {
    var offset = add(p, camera.focus, -1);
    return [size[0] / 2 + dot(offset, b.right) / scale, size[1] / 2 - dot(offset, b.up) / scale];
  };
}

function plotCamera() {
  var b = basis(camera.azimuth, camera.elevation), size = stageSize();
  var k = 4 * S.reach / (size[1] * metersPerPixel()), unit = k / (2 * S.reach);
  var center = add(camera.focus, view.focus, -1).map(function (v) { return v * unit; });
  var eye = add(center, b.toward, k + 2);
  function xyz(v) { return { x: v[0], y: v[1], z: v[2] }; }
  return {
    ratio: { x: k, y: k, z: k },
    camera: { eye: xyz(eye), center: xyz(center), up: xyz(b.up), projection: { type: 'orthographic' } }
  };
}

// surfaces
function Mesh() { this.x = []; this.y = []; this.z = []; this.i = []; this.j = []; this.k = []; this.colors = []; }
Mesh.prototype.point = function (p, color) {
  this.x.push(p[0]); this.y.push(p[1]); this.z.push(p[2]); this.colors.push(color);
  return this.x.length - 1;
};
Mesh.prototype.face = function (a, b, c) { this.i.push(a); this.j.push(b); this.k.push(c); };
Mesh.prototype.trace = function () {
  return {
    type: 'mesh3d', x: this.x, y: this.y, z: this.z, i: this.i, j: this.j, k: this.k,
    vertexcolor: this.colors, hoverinfo: 'skip', showscale: false, flatshading: false,
    lighting: { ambient: 1, diffuse: 0, specular: 0, roughness: 1, fresnel: 0, facenormalsepsilon: 0, vertexnormalsepsilon: 0 }
  };
};

function Lines() { this.x = []; this.y = []; this.z = []; this.colors = []; }
Lines.prototype.piece = function (points, color) {
  for (var n = 0; n < points.length; n++) {
    this.x.push(points[n][0]); this.y.push(points[n][1]); this.z.push(points[n][2]); this.colors.push(color);
  }
  this.x.push(null); this.y.push(null); this.z.push(null); this.colors.push(color);
};
Lines.prototype.trace = function (width, color) {
  return {
    type: 'scatter3d', mode: 'lines', x: this.x, y: this.y, z: this.z, hoverinfo: 'skip',
    line: { width: width, color: color || this.colors }, showlegend: false
  };
};

function mixed(a, b, part) { return a.map(function (v, n) { return v + (b[n] - v) * part; }); }

function fading(x, y) {
  var f = S.floor, edge = Math.min(x - f.low[0], f.high[0] - x, y - f.low[1], f.high[1] - y);
  var t = Math.min(Math.max(edge / f.fade, 0), 1);
  return t * t * (3 - 2 * t);
}

function floorMesh() {
  var mesh = new Mesh(), n = 40, f = S.floor, ground = bytes(T.ground), floor = bytes(T.floor);
  for (var row = 0; row <= n; row++) {
    for (var column = 0; column <= n; column++) {
      var x = f.low[0] + (f.high[0] - f.low[0]) * column / n, y = f.low[1] + (f.high[1] - f.low[1]) * row / n;
      mesh.point([x, y, f.z], css(mixed(ground, floor, fading(x, y))));
    }
  }
  for (row = 0; row < n; row++) {
    for (column = 0; column < n; column++) {
      var a = row * (n + 1) + column;
      mesh.face(a, a + 1, a + n + 2); mesh.face(a, a + n + 2, a + n + 1);
    }
  }
  return mesh.trace();
}

function gridLines() {
  var lines = new Lines(), f = S.floor, ground = bytes(T.ground), grid = bytes(T.grid), parts = 48;
  var lift = view.radius * 0.05;
  f.lines.forEach(function (line) {
    var other = 1 - line[0], low = f.low[other], high = f.high[other];
    for (var n = 0; n <= parts; n++) {
      var p = [0, 0, f.z + lift];
      p[line[0]] = line[1]; p[other] = low + (high - low) * n / parts;
      lines.x.push(p[0]); lines.y.push(p[1]); lines.z.push(p[2]);
      lines.colors.push(css(mixed(ground, grid, fading(p[0], p[1]))));
    }
    lines.x.push(null); lines.y.push(null); lines.z.push(null); lines.colors.push(T.grid);
  });
  return lines.trace(1.5);
}

// soft shadow straight down: three opaque ribbons, each a little higher, wider the higher the run
function shadowMesh() {
  var mesh = new Mesh(), r = view.radius, points = S.points;
  var normals = [], last = [0, 1];
  points.forEach(function (p, n) {
    var a = points[Math.max(n - 1, 0)], b = points[Math.min(n + 1, points.length - 1)];
    var x = b[0] - a[0], y = b[1] - a[1], size = Math.hypot(x, y);
    if (size > 0.3 * Math.hypot(x, y, b[2] - a[2])) last = [-y / size, x / size];
    normals.push(last);
  });
  [1.9, 1.0, 0.25].forEach(function (spread, level) {
    var color = T.shadows[level], z = S.floor.z + r * (0.1 + 0.06 * level);
    function half(p) { return Math.max(0.35 * r, r * 0.75 + (spread - 1) * (0.45 * r + 0.06 * Math.max(p[2] - S.floor.z, 0)) * (spread > 1 ? 1 : 0.8)); }
    points.forEach(function (p, n) {
      var h = half(p), a = mesh.point([p[0] + normals[n][0] * h, p[1] + normals[n][1] * h, z], color);
      mesh.point([p[0] - normals[n][0] * h, p[1] - normals[n][1] * h, z], color);
      if (n) { mesh.face(a - 2, a - 1, a + 1); mesh.face(a - 2, a + 1, a); }
    });
    points.forEach(function (p, n) {
      var turns = n && Math.abs(normals[n][0] * normals[n - 1][1] - normals[n][1] * normals[n - 1][0]) > 0.02;
      if (n && n < points.length - 1 && !turns) return;
      var h = half(p), center = mesh.point([p[0], p[1], z], color);
      for (var side = 0; side < 16; side++) {
        mesh.point([p[0] + h * Math.cos(side * Math.PI / 8), p[1] + h * Math.sin(side * Math.PI / 8), z], color);
        mesh.face(center, center + 1 + side, center + 1 + (side + 1) % 16);
      }
    });
  });
  return mesh.trace();
}

// The tube: each cell has two rings of its own. Shade hangs on the angle round the axis alone:
// full color over the whole upper side, so that a color means the same from every side.
var tube = null;

function tubeMesh() {
  var mesh = new Mesh(), angles = [], shades = [], n, side;
  for (side = 0; side < SIDES; side++) angles.push([Math.cos(2 * Math.PI * side / SIDES), Math.sin(2 * Math.PI * side / SIDES)]);
  var front = basis(view.azimuth, 0).toward;
  var rings = S.points.map(function (p, index) {
    var u = S.first[index], v = S.second[index], t = cross(u, v), upright = Math.abs(t[2]) > 0.92;
    var seen = upright ? front : [0, 0, 1];
    var up = add(seen, t, -dot(seen, t)), size = Math.hypot(up[0], up[1], up[2]);
    return angles.map(function (angle) {
      var normal = add([u[0] * angle[0], u[1] * angle[0], u[2] * angle[0]], v, angle[1]);
      var c = dot(normal, up) / size;
      var shade = upright ? 0.97 + 0.03 * c : c > 0 ? 1 : 1 + 0.30 * Math.max(c, -0.8);
      var gloss = upright ? 0 : 0.42 * Math.exp(-Math.pow((c - 0.97) / 0.14, 2));
      return { point: add(p, normal, view.radius), shade: shade, gloss: gloss };
    });
  });
  for (var cell = 0; cell < cells; cell++) {
    for (var end = 0; end < 2; end++) {
      for (side = 0; side < SIDES; side++) {
        var corner = rings[cell + end][side];
        mesh.point(corner.point, ''); shades.push([cell, end, corner.shade, corner.gloss]);
      }
    }
    var base = cell * 2 * SIDES;
    for (side = 0; side < SIDES; side++) {
      var next = (side + 1) % SIDES;
      mesh.face(base + side, base + next, base + SIDES + next);
      mesh.face(base + side, base + SIDES + next, base + SIDES + side);
    }
  }
  [[0, 0], [cells - 1, 1]].forEach(function (which) {
    var center = mesh.point(S.points[which[0] + which[1]], '');
    shades.push([which[0], which[1], 0.86, 0]);
    for (side = 0; side < SIDES; side++) {
      mesh.point(rings[which[0] + which[1]][side].point, ''); shades.push([which[0], which[1], 0.86, 0]);
      mesh.face(center, center + 1 + side, center + 1 + (side + 1) % SIDES);
    }
  });
  tube = { mesh: mesh, shades: shades };
}

function pitchMeters() { return 11 * view.m_per_px; }

function isRing(cell) {
  var perUnit = D.units.meters, pitch = pitchMeters(), low = D.edges[cell] * perUnit, high = D.edges[cell + 1] * perUnit;
  return Math.floor(high / pitch) > Math.floor(low / pitch) || (high - low < pitch * 1.2 / 11 && ((low + high) / 2) % pitch < pitch * 2 / 11);
}

function tubeColors(painted) {
  var ring = bytes(T.ring), found = new Array(tube.shades.length), seen = {};
  painted.forEach(function (cell, n) { cell.ring = cell.over && isRing(n); });
  tube.shades.forEach(function (at, n) {
    var cell = painted[at[0]], color = cell.ring ? ring : cell.colors[at[1]];
    var shade = at[2], gloss = cell.ring ? at[3] * 0.4 : at[3];
    found[n] = css([0, 1, 2].map(function (i) { return color[i] * shade + (255 - color[i] * shade) * gloss; }));
  });
  return found;
}

function boxColor(box, corner) {
  return css(bytes(T.equipment).map(function (part) { return Math.min(part * box.shades[corner], 255); }));
}

function boxMeshes() {
  var mesh = new Mesh(), lines = new Lines();
  view.boxes.forEach(function (box) {
    var fitting = D.fittings[box.fitting], used = fitting.stop === null || isUsed(fitting);
    if (used) {
      var base = mesh.x.length;
      box.points.forEach(function (p, n) { mesh.point(p, boxColor(box, n)); });
      box.triangles.forEach(function (f) { mesh.face(base + f[0], base + f[1], base + f[2]); });
    }
    function corner(a, b, c) {
      return add(add(add(box.center, box.half[0], a * 1.01), box.half[1], b * 1.01), box.half[2], c * 1.01);
    }
    [-1, 1].forEach(function (a) {
      [-1, 1].forEach(function (b) {
        [[corner(a, b, -1), corner(a, b, 1)], [corner(a, -1, b), corner(a, 1, b)], [corner(-1, a, b), corner(1, a, b)]].forEach(function (edge) {
          if (used) { lines.piece(edge, T.equipment_edge); return; }
          for (var part = 0; part < 8; part += 2) {
            lines.piece([mixed(edge[0], edge[1], part / 7), mixed(edge[0], edge[1], (part + 1) / 7)], T.equipment_edge);
          }
        });
      });
    });
  });
  if (!mesh.x.length) { mesh.point(view.focus, T.ground); mesh.point(view.focus, T.ground); mesh.point(view.focus, T.ground); mesh.face(0, 1, 2); }
  return [mesh.trace(), lines.trace(2)];
}

function outlineWidth() { return 2 * (2 * view.radius / metersPerPixel() + 3); }

function chooseView() {
  var wanted = S.views[stageSize()[0] < S.narrow_below ? 'narrow' : 'wide'];
  if (wanted === view) return false;
  view = wanted;
  home();
  return true;
}

function buildPlot() {
  if (!gl) return;
  tubeMesh();
  tube.mesh.colors = tubeColors(paint());
  var drops = new Lines(), outline = new Lines();
  view.drops.forEach(function (drop) { drops.piece(drop, T.drop_line); });
  outline.piece(S.points, T.outline);
  var boxes = boxMeshes(), at = plotCamera();
  function axis(n) {
    return { visible: false, autorange: false, range: [view.focus[n] - S.reach, view.focus[n] + S.reach] };
  }
  var layout = {
    margin: { l: 0, r: 0, t: 0, b: 0 }, paper_bgcolor: T.ground, autosize: true, showlegend: false, hovermode: false,
    scene: {
      xaxis: axis(0), yaxis: axis(1), zaxis: axis(2), aspectmode: 'manual', aspectratio: at.ratio,
      camera: at.camera, dragmode: false, hovermode: false, bgcolor: T.ground
    }
  };
  var traces = [
    floorMesh(), gridLines(), shadowMesh(), drops.trace(1.5), outline.trace(outlineWidth(), T.outline),
    tube.mesh.trace(), boxes[0], boxes[1]
  ];
  Plotly.react(plot, traces, layout, { displayModeBar: false, scrollZoom: false, responsive: false, doubleClick: false, showTips: false });
  drawn = true;
}

// one change of the picture, whatever changed: what is undefined stays as it is
function repaint(boxes) {
  if (drawn) {
    var colors = tubeColors(paint());
    if (boxes) {
      var made = boxMeshes(), m = made[0], l = made[1], no = undefined;
      Plotly.restyle(plot, {
        vertexcolor: [colors, m.vertexcolor, no], 'line.color': [no, no, l.line.color],
        x: [no, m.x, l.x], y: [no, m.y, l.y], z: [no, m.z, l.z], i: [no, m.i, no], j: [no, m.j, no], k: [no, m.k, no]
      }, [TUBE, BOXES, EDGES]);
    } else {
      Plotly.restyle(plot, { vertexcolor: [colors] }, [TUBE]);
    }
  }
  drawOver();
}

function moveCamera(scaled) {
  var at = plotCamera(), changes = { 'scene.camera': at.camera };
  if (scaled) changes['scene.aspectratio'] = at.ratio;
  if (drawn) {
    if (scaled) Plotly.update(plot, { 'line.width': outlineWidth() }, changes, [4]);
    else Plotly.relayout(plot, changes);
  }
  drawOver();
}

// turning, moving, nearing
var VIEWS = { plan: [-90, 89.9], front: [-90, 2], side: [0, 2], iso: [-45, 35.264] };

function setView(name) {
  if (name === 'in' || name === 'out') {
    camera.zoom = Math.min(Math.max(camera.zoom * (name === 'in' ? 1.3 : 1 / 1.3), 0.4), 12);
  } else {
    home();
    if (VIEWS[name]) {
      camera.azimuth = VIEWS[name][0]; camera.elevation = VIEWS[name][1];
      fitRun();
    }
  }
  moveCamera(true);
}

function fitRun() {
  var b = basis(camera.azimuth, camera.elevation), size = stageSize(), low = [1e9, 1e9], high = [-1e9, -1e9];
  S.points.concat(view.boxes.map(function (box) { return box.center; })).forEach(function (p) {
    var at = [dot(p, b.right), dot(p, b.up)];
    for (var n = 0; n < 2; n++) { low[n] = Math.min(low[n], at[n]); high[n] = Math.max(high[n], at[n]); }
  });
  var room = size[0] < S.narrow_below ? [0.68, 0.66] : [0.76, 0.72];
  var scale = Math.max((high[0] - low[0]) / (size[0] * room[0]), (high[1] - low[1]) / (size[1] * room[1]), 1e-4);
  camera.zoom = 1;
  camera.zoom = Math.min(Math.max(metersPerPixel() / scale, 0.2), 12);
  var shift = [(low[0] + high[0]) / 2 - dot(camera.focus, b.right), (low[1] + high[1]) / 2 - dot(camera.focus, b.up)];
  camera.focus = add(add(camera.focus, b.right, shift[0]), b.up, shift[1]);
}

var pointers = {}, pinch = 0, moved = 0, waiting = false;

function soon(scaled) {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(function () { waiting = false; moveCamera(scaled); });
}

stage.addEventListener('pointerdown', function (event) {
  if (event.target.closest('button')) return;
  pointers[event.pointerId] = [event.clientX, event.clientY];
  moved = 0;
  if (stage.setPointerCapture) { try { stage.setPointerCapture(event.pointerId); } catch (error) { /* synthetic pointer */ } }
});
stage.addEventListener('pointermove', function (event) {
  var last = pointers[event.pointerId];
  if (!last) { point(event); return; }
  var x = event.clientX - last[0], y = event.clientY - last[1], ids = Object.keys(pointers);
  pointers[event.pointerId] = [event.clientX, event.clientY];
  moved += Math.abs(x) + Math.abs(y);
  if (moved < 4) return;
  stage.classList.add('turning');
  el('tip').hidden = true;
  if (ids.length === 2) {
    var a = pointers[ids[0]], b = pointers[ids[1]], now = Math.hypot(a[0] - b[0], a[1] - b[1]);
    if (pinch) { camera.zoom = Math.min(Math.max(camera.zoom * now / pinch, 0.4), 12); soon(true); }
    pinch = now;
  } else if (event.shiftKey) {
    var at = basis(camera.azimuth, camera.elevation), scale = metersPerPixel();
    camera.focus = add(add(camera.focus, at.right, -x * scale), at.up, y * scale);
    soon(false);
  } else {
    camera.azimuth -= x * 0.35;
    camera.elevation = Math.min(Math.max(camera.elevation + y * 0.3, 2), 89.9);
    soon(false);
  }
});
['pointerup', 'pointercancel'].forEach(function (name) {
  stage.addEventListener(name, function (event) {
    if (!pointers[event.pointerId]) return;
    delete pointers[event.pointerId];
    pinch = 0;
    stage.classList.remove('turning');
    if (name === 'pointerup' && moved < 4) point(event);
    else drawOver();
  });
});
stage.addEventListener('pointerleave', function () { el('tip').hidden = true; });
stage.addEventListener('wheel', function (event) {
  if (!event.ctrlKey) return;
  event.preventDefault();
  camera.zoom = Math.min(Math.max(camera.zoom * Math.exp(-event.deltaY * 0.004), 0.4), 12);
  soon(true);
}, { passive: false });

// read-out: the place of the run nearest to the pointer
function point(event) {
  var tip = el('tip'), box = stage.getBoundingClientRect(), x = event.clientX - box.left, y = event.clientY - box.top;
  var project = projector(), b = basis(camera.azimuth, camera.elevation), best = null;
  var reach = Math.max(view.radius / metersPerPixel() + 4, event.pointerType === 'touch' ? 22 : 8);
  for (var n = 0; n < cells; n++) {
    var p = project(S.points[n]), q = project(S.points[n + 1]);
    var length = Math.pow(q[0] - p[0], 2) + Math.pow(q[1] - p[1], 2);
    var part = length ? Math.min(Math.max(((x - p[0]) * (q[0] - p[0]) + (y - p[1]) * (q[1] - p[1])) / length, 0), 1) : 0;
    var away = Math.hypot(p[0] + part * (q[0] - p[0]) - x, p[1] + part * (q[1] - p[1]) - y);
    if (away > reach) continue;
    var depth = dot(S.points[n], b.toward);
    if (!best || away - best.away < -2 || (Math.abs(away - best.away) <= 2 && depth > best.depth)) {
      best = { away: away, depth: depth, cell: n, station: D.edges[n] + part * (D.edges[n + 1] - D.edges[n]) };
    }
  }
  if (!best) { tip.hidden = true; return; }
  tip.textContent = readOut(best.cell, best.station);
  tip.hidden = false;
  tip.style.left = Math.max(0, Math.min(x + 16, box.width - tip.offsetWidth - 4)) + 'px';
  tip.style.top = Math.max(0, Math.min(y + 16, box.height - tip.offsetHeight - 4)) + 'px';
}

function readOut(cell, station) {
  var leg = legOfCell(cell), bend = bendAt(station), lines = [];
  var fitting = D.fittings.find(function (f) { return Math.abs(f.station - station) < D.length * 0.006; });
  lines.push('Station ' + shown(station, 'length') + ' · ' + leg.name);
  if (fitting) lines.push(fitting.name + (fitting.stop !== null && !isUsed(fitting) ? ' (left out)' : ''));
  if (bend) lines.push('Bend ' + bend.title.replace('  ', ', ') + ', ' + bend.detail.replace(' · ', ', '));
  ['tension', 'sidewall'].forEach(function (kind) {
    var value = between(cell, station, kind), limit = limitOf(kind);
    if (kind === 'sidewall' && !bend) return;
    var text = (kind === 'tension' ? 'Tension ' + shown(value, 'force') : 'Sidewall ' + shown(value, 'pressure'));
    lines.push(limit ? text + ', ' + ofLimit(value / limit) : text + ', limit not known');
  });
  lines.push('Elevation ' + shown(between(cell, station, 'elevation'), 'length'));
  return lines.join('\n');
}
