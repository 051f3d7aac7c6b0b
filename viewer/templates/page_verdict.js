// Verdict and sentences for the boxes in use, put together from the checks of the legs in use and
// those of the run. A sentence holds a sign where its leg's name goes. Of checks that hang on the
// direction those count that are shown: of the way chosen, or of the way each leg is better pulled.
function unique(list) { return list.filter(function (text, n) { return list.indexOf(text) === n; }); }

function checksNow(shownWay) {
  var found = [], ways = ['forward', 'reverse'], chosen = shownWay === 'better' ? null : shownWay;
  function add(check, leg, name, counted) {
    found.push({
      rank: check[0], leg: leg, way: ways.indexOf(check[1]), verdict: check[2], counts: check[1] === null || counted === null || check[1] === counted,
      text: check[3] === null ? null : P.words[check[3]].split(P.name_sign).join(name), doubts: check[4].map(function (n) { return P.words[n]; })
    });
  }
  legs.forEach(function (leg, n) {
    leg.leg.checks.forEach(function (check) { add(check, n, leg.name, chosen || leg.better || 'forward'); });
  });
  D.standing.checks.forEach(function (check) { add(check, -1, '', chosen); });
  cornersPassed().forEach(function (corner) { add(corner.check, -1, '', chosen); });
  var joint = jointWords();
  if (joint) found.push({ rank: P.joint.rank, leg: -1, way: -1, verdict: 'caution', counts: chosen === null, text: joint, doubts: [] });
  ways.forEach(function (way, n) {
    passageWords(way).forEach(function (words) {
      found.push({ rank: P.check_names.indexOf('fill') - 0.5, leg: -1, way: n, verdict: 'caution', counts: chosen === null || chosen === way, text: words[0], way_words: words[1], doubts: [] });
    });
  });
  found.forEach(function (check, n) { check.turn = n; });
  return found.sort(function (a, b) { return a.rank - b.rank || a.leg - b.leg || a.way - b.way || a.turn - b.turn; });
}

// where nobody stated how a box is passed: what if conductors are not taken out there? One
// sentence for each stretch between certain feeds that holds such a box and would pass a limit,
// with what of it hangs on the way
function passageWords(way) {
  var used = inUse(), texts = [];
  var stays = used.slice(1, -1).filter(function (n) { return D.stops[n].stated && !D.stops[n].through; });
  stretchesOf(used, function (stop) { return stays.indexOf(stop) >= 0; }).forEach(function (stretch) {
    var unstated = stretch.slice(1, -1).filter(function (n) { return !D.stops[n].stated; }), told = null, most = null;
    if (!unstated.length) return;
    if (!stays.length) told = D.standing.passages[way];
    else legsOf(stretch).forEach(function (key) {
      var item = (D.standing.passages_between[key] || {})[way];
      if (item && (most === null || item[0] > most)) { most = item[0]; told = item.slice(1); }
    });
    if (!told) return;
    var names = unstated.map(function (n) { return D.stops[n].name; }).join(', ');
    texts.push([told[0] + names + (unstated.length > 1 ? told[1].replace('fed again there.', 'fed again at each of them.') : told[1]), told[2]]);
  });
  return texts;
}

// boxes pulled toward from both sides: said where whole conductors would pass a limit
function jointWords() {
  var used = inUse(), isFeed = function (stop) { return !D.stops[stop].through; }, stretches = stretchesOf(used, isFeed), met = [];
  if (stretches.length < 2) return '';
  function pulled(feed, far) {
    var leg = D.legs[Math.min(feed, far) + '-' + Math.max(feed, far)];
    return leg ? leg[far > feed ? 'forward' : 'reverse'].whole : D.standing.outward[feed + '-' + far];
  }
  var ends = stretches.map(function (stretch) {
    var low = stretch[0], high = stretch[stretch.length - 1];
    return D.legs[legsOf(stretch)[0]].better === 'reverse' ? [high, low] : [low, high];
  });
  ends.forEach(function (way, n) {
    if (n && ends[n - 1][1] === way[1]) met.push(D.stops[way[1]].name);
  });
  if (!met.length || ends.some(function (way) { return pulled(way[0], way[1])[2]; })) return '';
  var last = used.length - 1, choices = used.map(function (feed, n) {
    var places = used.filter(function (stop, k) { return stop === feed || k === 0 || k === last || isFeed(stop); }), worst = null;
    var pulls = places.slice(1).map(function (high, k) { return high <= feed ? pulled(high, places[k]) : pulled(places[k], high); });
    pulls.forEach(function (pull) { if (!worst || pull[0] > worst[0]) worst = pull; });
    return {
      feed: feed, pulls: pulls.length, inner: n > 0 && n < last ? 1 : 0, share: worst[0], words: worst[3],
      tension: Math.max.apply(null, pulls.map(function (pull) { return pull[1]; })), fails: pulls.some(function (pull) { return pull[2]; })
    };
  });
  ['share', 'tension'].forEach(function (kind) {
    var least = Math.min.apply(null, choices.map(function (choice) { return choice[kind]; })) * (1 + 1e-9);
    choices = choices.filter(function (choice) { return choice[kind] <= least; });
  });
  choices.sort(function (a, b) { return a.pulls - b.pulls || a.inner - b.inner || a.feed - b.feed; });
  if (!choices[0].fails) return '';
  var parts = { boxes: met.join(', '), feed: D.stops[choices[0].feed].name, figures: P.words[choices[0].words] };
  return P.joint[met.length > 1 ? 'several' : 'one'].replace(/\{(\w+)\}/g, function (sign, name) { return parts[name]; });
}

function cautionsOf(checks) {
  var lines = [], byText = {}, waysOf = {}, sign = '\n';
  function line(text, name) {
    if (!byText[text]) { byText[text] = []; lines.push(text); }
    if (name) byText[text].push(name);
  }
  checks.forEach(function (check) {
    if (check.verdict !== 'caution' || !check.counts) return;
    check.doubts.forEach(function (doubt) { line(doubt, P.check_names[check.rank]); });
    if (check.doubts.length) return;
    var way = check.way_words || '', text = way ? check.text.split(way).join(sign) : check.text;
    line(text, '');
    // those alike but for the way are one
    waysOf[text] = unique((waysOf[text] || []).concat(way));
  });
  // cautions on a value go before those on assumptions
  function onValue(text) { return !byText[text].length; }
  function onAssumption(text) { return byText[text].length > 0; }
  return lines.filter(onValue).concat(lines.filter(onAssumption)).map(function (text) {
    var names = unique(byText[text]);
    text = text.split(sign).join((waysOf[text] || []).join('; '));
    return names.length ? text.charAt(0).toUpperCase() + text.slice(1) + ' (touches ' + names.join(', ') + ')' : text;
  });
}

function cornersPassed() {
  return D.standing.corners.filter(function (corner) {
    return corner.stop === null || D.stops[corner.stop].through || !state.on[corner.stop - 1];
  });
}

// what leaves the run without a verdict, named as in the headline of a picture
function cornersNotChecked() {
  var names = cornersPassed().map(function (corner) { return corner.name; });
  return names.length ? 'sidewall pressure inside ' + listed(names) + ' not checked' : '';
}

function judgement(way) {
  var rest = D.standing, shownWay = way || state.way, checks = checksNow(shownWay);
  if (rest.fixed) return rest.fixed[shownWay];
  function any(verdict) { return checks.some(function (check) { return check.counts && check.verdict === verdict; }); }
  var open = checks.filter(function (check) { return check.verdict === 'not checked'; });
  var verdict = any('fail') || rest.severities.indexOf('error') >= 0 ? 'fail' :
    !rest.needed || cornersPassed().length ? 'not checked' : any('caution') || rest.severities.indexOf('caution') >= 0 ? 'caution' : 'pass';
  var failing = checks.filter(function (check) { return check.counts && check.verdict === 'fail'; });
  function texts(list) { return list.map(function (check) { return check.text; }); }
  return {
    verdict: verdict,
    text: open.length ? verdict + ', ' + open.length + ' not checked' : verdict,
    failing: rest.errors.concat(unique(texts(failing))),
    cautions: unique(cautionsOf(checks).concat(rest.cautions)),
    not_checked: unique(texts(open)),
    notes: rest.notes.concat(cornersPassed().map(function (corner) { return corner.text; }))
  };
}
