// The list of runs, worst first; a click shows the run everywhere.
var MOST_UNSORTED = 12;

function shareBar(cell, share) {
  if (share === null) return;
  var bar = svg(cell, 'svg', { class: 'bar', width: 72, height: 12, viewBox: '0 0 72 12', 'aria-hidden': 'true' }), top = P.map.top;
  var wide = Math.max(Math.min(share / top, 1) * 70, 1.5), scale = { limit: 1, low: 0, high: top };
  svg(bar, 'rect', { x: 1, y: 2, width: 70, height: 8, style: 'fill:var(--band)' });
  svg(bar, 'rect', { x: 1, y: 2, width: wide, height: 8, fill: css(colorOf(share, scale)) });
  for (var x = 1 + 70 / top + 4; x < wide; x += 5) svg(bar, 'line', { x1: x, x2: x, y1: 2, y2: 10, stroke: T.ring, 'stroke-width': 1 });
  svg(bar, 'rect', { x: 1, y: 2, width: 70, height: 8, fill: 'none', stroke: 'currentColor', 'stroke-width': 0.8 });
  svg(bar, 'line', { x1: 1 + 70 / top, x2: 1 + 70 / top, y1: 0, y2: 12, stroke: 'currentColor', 'stroke-width': 1.6 });
}

function buildList() {
  if (!P.list) { el('runs').hidden = true; return; }
  var body = document.querySelector('#run-list tbody'), rows = P.list.rows;
  var passed = rows.some(function (run) { return run.boxes; });
  el('list-boxes').hidden = !passed;
  el('runs-title').textContent = P.list.text;
  el('runs-note').textContent = P.list.title + '. ' + P.list.note;
  el('runs-note').appendChild(made('span', ' Pick a run to see it.', 'screen'));
  rows.forEach(function (run, n) {
    var row = made('tr'), name = made('td', null, 'name');
    if (run.runs) {
      var button = made('button', run.name);
      button.type = 'button';
      button.dataset.run = String(n);
      name.appendChild(button);
      row.className = 'held';
      row.addEventListener('click', function () { if (state.run !== n) pickRun(n); });
    } else {
      name.appendChild(made('span', run.name));
    }
    row.appendChild(name);
    var share = made('td', null, 'share');
    shareBar(share, run.value);
    share.appendChild(made('span', run.share));
    row.appendChild(share);
    row.appendChild(made('td', run.governs, 'governs'));
    row.appendChild(made('td', run.length, 'length'));
    row.appendChild(made('td', run.bends.replace(/^1,/, '1 bend,').replace(/^(\d+),/, '$1 bends,'), 'bends'));
    if (passed) row.appendChild(made('td', run.boxes, 'boxes'));
    var verdict = made('td', null, 'verdict');
    verdict.appendChild(made('b', P.marks[run.verdict] + ' ' + run.told, run.verdict === 'fail' ? 'fail' : ''));
    row.appendChild(verdict);
    row.appendChild(made('td', run.fails, 'fails'));
    body.appendChild(row);
  });
  el('find-set').hidden = rows.length <= MOST_UNSORTED;
  el('find').addEventListener('input', function () {
    var wanted = el('find').value.toLowerCase(), left = 0;
    Array.prototype.forEach.call(body.rows, function (row, n) {
      row.hidden = rows[n].name.toLowerCase().indexOf(wanted) < 0;
      if (!row.hidden) left += 1;
    });
    el('found').textContent = wanted ? left + ' of ' + rows.length : '';
  });
}

function showPicked() {
  Array.prototype.forEach.call(document.querySelectorAll('#run-list tbody tr'), function (row, n) {
    if (n === state.run) row.setAttribute('aria-current', 'true'); else row.removeAttribute('aria-current');
  });
}
