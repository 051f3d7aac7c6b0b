// Controls, words, table and verdict; and what happens when one of them changes.
function frictionWords() {
  var now = P.frictions[state.friction];
  return (P.frictions.length > 1 && now.name ? now.name + ' friction ' : 'friction ') + now.number;
}

function choices(id, name, options, chosen, react) {
  var node = el(id);
  node.textContent = '';
  options.forEach(function (option) {
    var label = made('label'), input = made('input');
    input.type = 'radio'; input.name = name; input.value = option.key; input.checked = option.key === chosen;
    label.className = input.checked ? 'on' : '';
    label.appendChild(input);
    label.appendChild(made('span', option.text));
    input.addEventListener('change', function () {
      Array.prototype.forEach.call(node.children, function (other) { other.className = other === label ? 'on' : ''; });
      react(option.key);
    });
    node.appendChild(label);
  });
}

function buildControls() {
  choices('quantities', 'quantity', ['tension', 'sidewall', 'share', 'elevation', 'station'].map(function (key) {
    return { key: key, text: TITLES[key] };
  }), state.quantity, function (key) { state.quantity = key; refresh(); });
  frictionControls();
  el('head').addEventListener('input', function () { setWalked(el('head').value / 1000, true); });
  el('play').addEventListener('click', play);
  Array.prototype.forEach.call(document.querySelectorAll('#box-all button'), function (button) {
    button.addEventListener('click', function () { chooseBoxes(state.on.map(function () { return button.dataset.boxes === 'all'; })); });
  });
  Array.prototype.forEach.call(document.querySelectorAll('#views button'), function (button) {
    button.addEventListener('click', function () { setView(button.dataset.view); });
  });
}

// The slider stops only at frictions that were calculated: nothing is read between them.
function frictionControls() {
  var slider = el('friction-steps'), named = P.frictions.filter(function (friction) { return friction.name; });
  if (P.frictions.length < 2) { el('friction-set').hidden = true; return; }
  function radios() {
    choices('frictions', 'friction', named.map(function (friction) {
      return { key: friction.name, text: friction.name + ' ' + friction.number };
    }), P.frictions[state.friction].name, function (key) {
      setFriction(P.frictions.findIndex(function (friction) { return friction.name === key; }));
    });
  }
  function setFriction(index) {
    state.friction = index;
    slider.value = String(index);
    el('friction-words').textContent = P.frictions[index].number;
    slider.setAttribute('aria-valuetext', frictionWords());
    radios();
    refresh();
  }
  el('friction-slide').hidden = P.frictions.length <= named.length;
  slider.max = String(P.frictions.length - 1);
  slider.value = String(state.friction);
  slider.setAttribute('aria-valuetext', frictionWords());
  el('friction-words').textContent = P.frictions[state.friction].number;
  el('friction-note').textContent = P.frictions.length + ' steps, each calculated; limits are judged at high friction.';
  slider.addEventListener('input', function () { setFriction(Number(slider.value)); });
  radios();
}

// what hangs on the run in view
function runControls() {
  var boxes = el('boxes'), facts = el('facts');
  choices('ways', 'way', D.ways, state.way, function (key) { state.way = key; refresh(); });
  boxes.textContent = facts.textContent = '';
  D.stops.slice(1, -1).forEach(function (stop, n) {
    var label = made('label'), input = made('input');
    input.type = 'checkbox'; input.checked = true; input.name = 'box'; input.value = String(n); input.disabled = !D.switched;
    label.appendChild(input);
    label.appendChild(made('span', stop.name + (stop.through ? ' (passed through)' : '')));
    input.addEventListener('change', function () { state.on[n] = input.checked; refresh(true); });
    boxes.appendChild(label);
  });
  el('box-set').hidden = D.stops.length < 3;
  el('box-all').hidden = !D.switched || D.stops.length < 6;
  el('box-note').textContent = D.switch_words;
  el('subline').textContent = D.subline;
  document.title = D.title + (P.runs.length > 1 ? ', ' + D.name : '') + ': pull in 3D';
  P.runs[state.run].facts.concat(P.facts).forEach(function (fact) {
    facts.appendChild(made('dt', fact[0]));
    facts.appendChild(made('dd', fact[1]));
  });
  el('head').value = '1000';
}

function chooseBoxes(on) {
  state.on = on.slice();
  Array.prototype.forEach.call(el('boxes').querySelectorAll('input'), function (input, n) { input.checked = state.on[n]; });
  refresh(true);
}

function pickRun(number) {
  if (running) play();
  openRun(number);
  runControls();
  view = null;
  chooseView();
  buildPlot();
  showPicked();
  refresh();
}

function setWalked(part, own) {
  state.walked = part;
  if (!own) el('head').value = String(Math.round(part * 1000));
  headMoved();
}

var running = 0;
function play() {
  if (running) { cancelAnimationFrame(running); running = 0; el('play').textContent = '▶'; return; }
  el('play').textContent = '❚❚';
  var start = null, from = state.walked >= 1 ? 0 : state.walked;
  function step(time) {
    if (start === null) start = time;
    var part = Math.min(from + (time - start) / 9000, 1);
    setWalked(part);
    if (part < 1) running = requestAnimationFrame(step);
    else { running = 0; el('play').textContent = '▶'; }
  }
  running = requestAnimationFrame(step);
}

// pictures follow once a frame, however many changes came before it
var queued = false, boxesChanged = false;
function redrawSoon() {
  if (queued) return;
  queued = true;
  document.documentElement.dataset.drawn = '';
  requestAnimationFrame(function () {
    queued = false;
    drawLegend();
    drawChart();
    repaint(boxesChanged);
    boxesChanged = false;
    document.documentElement.dataset.drawn = 'yes';
  });
}

function headMoved() {
  headWords();
  redrawSoon();
}

function headWords() {
  var head = headNow(), node = el('head-words');
  if (!head) {
    var last = feedLeft() ? legs[legs.length - 1] : legs[0];
    node.textContent = 'All pulled; tension leaving at ' + last.pull.pull + ' ' + last.figures.exit;
    return;
  }
  var value = between(head.cell, head.station, 'tension'), limit = limitOf('tension'), bend = bendAt(head.station);
  node.textContent = head.leg.name + (bend ? ', ' + bend.name : '') + ', station ' + shown(head.station, 'length') + ': ' + shown(value, 'force') +
    (limit ? ', ' + ofLimit(value / limit) : ', limit not known');
}

// never the flattering share alone: what high friction makes of it stands beside it
function atHigh() {
  var best = null;
  var high = P.frictions.length - 1;
  if (state.friction === high) return null;
  legs.forEach(function (leg) {
    var figure = leg.pull.at[high].tension;
    if (!best || figure.value > best.value) best = figure;
  });
  return best;
}

// the limit that governs, where the words on tension do not tell it
function governsBeside() {
  var most = null;
  legs.forEach(function (leg) {
    var p = leg.pull;
    if (p.share_value !== null && (!most || p.share_value > most.share_value)) most = p;
  });
  return most && !most.governed_by_tension ? '; ' + most.governed + ' governs, ' + most.share : '';
}

function headline() {
  var worst = worstNow('tension'), figure = worst.figure, names = fails(), high = atHigh(), text;
  var where = (legs.length > 1 ? ' in ' + worst.leg.name : '') + ' at ' + figure.at;
  if (figure.of === null) text = 'The pull needs ' + figure.text + where + '; no tension limit is known';
  else if (figure.share > 1) text = 'Tension reaches ' + figure.of + ': ' + figure.text + where;
  else text = 'Highest tension ' + figure.text + ', ' + figure.of + where;
  if (high) text += '; at high friction ' + P.high_friction + ' it takes ' + high.text + (high.of ? ', ' + high.of : '');
  text += governsBeside();
  if (cornersNotChecked()) text += '; ' + cornersNotChecked();
  if (names.length) text += '; ' + listed(names) + (names.length > 1 ? ' fail' : ' fails');
  return text;
}

function shownWords() {
  var way = D.ways.find(function (item) { return item.key === state.way; }).text, parts = ['Shown: ' + way.toLowerCase().replace(/^toward .*/, way.replace('Toward', 'pulled toward'))];
  parts.push(frictionWords());
  if (D.stops.length > 2) {
    var on = D.stops.slice(1, -1).filter(function (stop, n) { return state.on[n]; }).map(function (stop) { return stop.name; });
    parts.push(on.length ? (on.length > 4 ? on.length + ' boxes' : listed(on)) + ' in use' : 'no box in use');
  }
  return parts.join(' · ');
}

function wordsAndVerdict() {
  el('headline').textContent = headline();
  el('shown').textContent = shownWords();
  var node = el('verdict'), found = judgement();
  node.textContent = '';
  node.appendChild(made('b', P.marks[found.verdict] + ' ' + found.verdict, found.verdict === 'fail' ? 'fail' : ''));
  var rest = found.text.slice(found.verdict.length).replace(/^, /, '');
  var holds = state.way === 'better' ? 'the verdict holds for each leg pulled its better way' :
    'the verdict holds for the way shown; each leg pulled its better way: ' + judgement('better').verdict;
  node.appendChild(made('span', (rest ? rest + ' · ' : '') + holds));
  sentences('failing', 'What fails', found.failing);
  sentences('cautions', 'Cautions', P.findings.cautions.concat(found.cautions));
  sentences('not-checked', 'Not checked', found.not_checked);
  var list = el('notes');
  list.textContent = '';
  P.findings.notes.concat(found.notes).forEach(function (text) { list.appendChild(made('li', text)); });
  el('drawn-notes').textContent = [view.true ? 'Raceway drawn at its own diameter.' : 'Raceway drawn wider than true.'].concat(D.notes).join(' ');
}

function sentences(id, title, list) {
  var node = el(id), seen = [];
  node.textContent = '';
  if (!list || !list.length) return;
  node.appendChild(made('h2', title));
  var items = made('ul');
  list.forEach(function (text) {
    if (seen.indexOf(text) >= 0) return;
    seen.push(text);
    items.appendChild(made('li', text));
  });
  node.appendChild(items);
}

function fillTable() {
  var body = document.querySelector('#legs tbody'), titles = Array.prototype.map.call(document.querySelectorAll('#legs th'), function (th) { return th.textContent; });
  var scale = scaleOf('tension'), worst = worstNow('tension');
  body.textContent = '';
  legs.forEach(function (leg) {
    var row = made('tr'), f = leg.figures, p = leg.pull;
    function cell(key, text, small) {
      var td = made('td'), words = made('span');
      td.dataset.label = titles[row.children.length];
      td.dataset.key = key;
      if (text) words.appendChild(made('span', text, 'figure'));
      if (small) words.appendChild(made('small', small));
      td.appendChild(words);
      row.appendChild(td);
      return td;
    }
    var better = leg.better === null ? 'either way is equal' : leg.better === leg.way ? 'the better way' : 'the other way is better';
    cell('name', leg.name);
    cell('way', p.feed + ' → ' + p.pull, better + (p.hold_back ? ' · hold back ' + p.hold_back + ' at the feed' : ''));
    cell('length', leg.leg.length);
    cell('bends', leg.leg.bends + ', ' + leg.leg.degrees);
    var td = cell('tension', null);
    var swatch = made('span', null, 'swatch');
    swatch.style.background = css(colorOf(f.tension.value, scale));
    var words = td.firstChild;
    words.appendChild(swatch);
    words.appendChild(made('span', f.tension.text, 'figure'));
    words.appendChild(made('small', 'at ' + f.tension.at + (f.tension.of ? ' · ' + f.tension.of : ' · limit not known')));
    if (worst && worst.leg === leg) td.className = 'worst';
    cell('exit', f.exit);
    cell('sidewall', f.sidewall ? f.sidewall.text : 'no bends', f.sidewall ? 'at ' + f.sidewall.at : '');
    cell('share', p.share || 'not checked', p.governed || '').className = p.over ? 'worst' : '';
    cell('fails', p.fails.length ? p.fails.join(', ') : 'none of these').className = p.fails.length ? 'fails' : '';
    body.appendChild(row);
  });
  el('leg-note').textContent = 'Tension and sidewall pressure at ' + frictionWords() + '. * Judged at high friction ' + P.high_friction +
    ' (held back: low friction) over tension, grip, line, puller and sidewall limits that could be checked; a leg fails by these, by its degrees or by its length. ' +
    'A leg fed anew starts at its own feed tension.';
}

function refresh(boxes) {
  legs = compose();
  wordsAndVerdict();
  fillTable();
  headWords();
  boxesChanged = boxesChanged || boxes === true;
  redrawSoon();
}

function sized() {
  chooseView();
  if (drawn) { el('view').style.height = ''; Plotly.Plots.resize(plot); }
  buildPlot();
  drawLegend();
  drawChart();
  drawOver();
}

openRun(0);
buildControls();
buildList();
el('no-gl').hidden = gl;
runControls();
chooseView();
buildPlot();
flat = !drawn;
showPicked();
refresh();
var resizing = 0, lastWidth = window.innerWidth;
window.addEventListener('resize', function () {
  if (window.innerWidth === lastWidth) return;
  lastWidth = window.innerWidth;
  clearTimeout(resizing);
  resizing = setTimeout(sized, 150);
});
// Paper is white whatever the screen; charts are as wide as it, so that their letters keep their
// size, and the list of runs comes last.
function useTheme(theme) {
  T = theme;
  for (var name in theme) {
    if (typeof theme[name] === 'string' && theme[name].charAt(0) === '#') document.documentElement.style.setProperty('--' + name.replace(/_/g, '-'), theme[name]);
  }
}

function forPaper(wanted) {
  var main = document.querySelector('main');
  useTheme(wanted ? P.paper : P.theme);
  chart.style.width = strip.style.width = wanted ? '960px' : '';
  if (wanted) main.appendChild(el('runs')); else main.insertBefore(el('runs'), stage);
  flat = wanted || !drawn;
  drawLegend();
  drawOver();
  drawChart();
}

window.addEventListener('beforeprint', function () { forPaper(true); });
window.addEventListener('afterprint', function () { forPaper(false); });
document.documentElement.dataset.ready = 'yes';
window.racewayPage = {
  state: state, page: P, shown: shown, ofLimit: ofLimit, judgement: judgement, pickRun: pickRun, chooseBoxes: chooseBoxes,
  run: function () { return D; },
  turn: function (azimuth, elevation) { camera.azimuth = azimuth; camera.elevation = elevation; drawOver(); },
  project: function (station) { return projector()(worldAt(station)); },
  curves: function () {
    return legs.map(function (leg) { return { way: leg.way, edges: D.edges.slice(leg.from, leg.to + 1), tension: leg.curve.tension, sidewall: leg.curve.sidewall }; });
  }
};
