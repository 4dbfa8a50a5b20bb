#!/usr/bin/env python3
"""Does the reached curve of a draft follow the dynamics that composers wrote?

Piano sketches are made from scores of the music21 corpus. Their velocities say the dynamics of the
score. The program voices them for three bands without a timeline, and tells the curve that the
draft reaches bar by bar. Counted is how often this curve, and loudness alone,
  - rises where the score grows louder (hairpin, "cresc.", a louder mark behind a softer one),
    and falls where it grows softer,
  - is higher in a passage of f or ff than in the passage of p or pp beside it in the same piece.
The same sketches with every note mf are the comparison: what texture alone does.
Then some pieces, and the demo, are given two opposite timelines, and the reached curves are
correlated with the wanted ones. Nothing here shares code with the program.

Sources
  Scores and their dynamics: the corpus of music21 10.5.1 (PyPI; scores encoded by others, see
    `music21/corpus/license.txt`). They are read, never kept. Marks, hairpins and words are the
    encoders'; ends of hairpins may be a note off, and repeats are not played out.
  Order of pp p mp mf f ff, and that a hairpin leads from a dynamic to another: common practice.
  pp 33, 16 more a step, fff 127: the program's own table (`Dynamic::velocity`), which the sketch
    must speak to be understood. ppp is told as pp; sf, fz, rf as a step more on their notes; fp as
    f on its notes and p behind them; a part before its first mark as mf, and not counted.
  Binomial standard error sqrt(p (1 - p) / n), and the one over whole pieces (clusters) beside it,
    because places of one piece, and one place in three bands, are not independent; 3 / n where
    all or none hold (rule of three, as if they were independent): from memory.
  Straight ramps, a step where a hairpin has no goal, 8 bars of "cresc." at the most, what makes a
    place or a passage: ours. Floors: ours, a little under what was measured.

Usage: shape_checks.py [--program target/release/bandwright] [--work target/ci/shape] [--self-test]
"""

import argparse
import bisect
import collections
import concurrent.futures
import json
import math
import pathlib
import subprocess
import sys
import time
import warnings

import mido

TPQ = 960
BANDS = ["thin", "medium-marching", "concert"]
ROOT = pathlib.Path(__file__).resolve().parent.parent
TIMEOUT = 60  # seconds for one run of the program
MOST_BARS = 80  # of each piece; the rest is left away, for time
PROCESSES = 2

# Staves that share their marks stand together. Chosen for carrying marks, before any was voiced.
QUARTET, PIANO, SONG = [[0], [1], [2], [3]], [[0, 1]], [[0], [1, 2]]
PIECES = [
    ("haydn/opus74no1/movement1.mxl", QUARTET),
    ("beethoven/opus59no2/movement2.mxl", QUARTET),
    ("beethoven/opus18no1/movement2.mxl", QUARTET),
    ("weber/concertino_clarinet.mxl", SONG),
    ("schumann_robert/opus41no1/movement3.mxl", QUARTET),
    ("haydn/opus74no1/movement2.mxl", QUARTET),
    ("schumann_robert/opus41no1/movement2.mxl", QUARTET),
    ("beethoven/opus18no1/movement3.mxl", QUARTET),
    ("mozart/k458/movement2.mxl", QUARTET),
    ("mozart/k155/movement2.mxl", QUARTET),
    ("mozart/k156/movement2.mxl", QUARTET),
    ("schubert/Lindenbaum.xml", SONG),
    ("chopin/mazurka06-2.krn", PIANO),
    ("joplin/maple_leaf_rag.mxl", PIANO),
    ("handel/rinaldo/Lascia_chio_pianga.mxl", SONG),
    ("beach/prayer_of_a_tired_child.musicxml", [[0], [1], [2], [3], [4, 5]]),
    ("cpebach/h186.mxl", PIANO),
    ("schumann_clara/polonaise_op1n1.mxl", PIANO),
    ("schumann_clara/polonaise_op1n2.mxl", PIANO),
    ("schumann_clara/polonaise_op1n3.mxl", PIANO),
    ("schumann_clara/polonaise_op1n4.mxl", PIANO),
    ("verdi/laDonnaEMobile.mxl", PIANO),
]
# Given the two opposite timelines, each with one band.
OPPOSITE = {
    "mozart/k155/movement2.mxl": "medium-marching",
    "mozart/k156/movement2.mxl": "concert",
    "chopin/mazurka06-2.krn": "thin",
    "schumann_clara/polonaise_op1n3.mxl": "concert",
    "verdi/laDonnaEMobile.mxl": "medium-marching",
}
COMPARISON_BAND = "medium-marching"

# A standard error or so under the measured value, which stands behind each.
FLOORS = {
    ("rises", "curve"): 0.84,  # 0.863
    ("rises", "loudness"): 0.87,  # 0.893
    ("falls", "curve"): 0.82,  # 0.843
    ("falls", "loudness"): 0.85,  # 0.876
    ("f over p", "curve"): 0.97,  # 1.000
    ("f over p", "loudness"): 0.97,  # 1.000
}
WORST_CORRELATION = 0.81  # 0.827
FEW_PIECES = 0.7  # in the self-test
DEMO_CORRELATION = 0.9  # asked of the demo; 0.906

SOFTEST, MF, LOUDEST, STEP = 33, 81, 127, 16
LEVELS = {"pp": 33, "p": 49, "mp": 65, "mf": 81, "f": 97, "ff": 113, "fff": 127,
          "ppp": 33, "pppp": 33, "ffff": 127}
ACCENTS = {"sf", "sfz", "fz", "rf", "rfz", "sffz"}
THEN_SOFT = {"fp": 97, "sfp": 97, "sfpp": 97}
SOFT, LOUD = 49, 97
UP_WORDS, DOWN_WORDS = ("cresc", "cres."), ("dim", "decresc", "calando", "smorz", "morendo")
LONGEST_WORD = 8  # bars
LONGEST_PLACE = 12  # bars
MEASURES = ("curve", "loudness")

Note = collections.namedtuple("Note", "onset end pitch velocity")
Mark = collections.namedtuple("Mark", "tick kind value")  # level, accent, then_soft
Ramp = collections.namedtuple("Ramp", "start end way")  # end None: until the next mark
Event = collections.namedtuple("Event", "start end way group")
Place = collections.namedtuple("Place", "before after way")  # bars from 0


# ---------------------------------------------------------------- the score

class Score:
    """Notes, marks and bars of a score, in ticks; staves by groups that share their marks."""

    def __init__(self, name, bars, meters, groups, marks=0):
        self.name = name
        self.marks = marks  # marks, hairpins and words, in all parts
        self.bars = bars  # tick of each bar line, the last one's too
        self.meters = meters
        self.groups = groups


class Group:
    """Staves that are played by the same marks."""

    def __init__(self, staves, marks, ramps):
        self.staves = staves  # (onset, end, pitch) by staff
        self.notes = [n for staff in staves for n in staff]
        self.marks = sorted(marks)
        self.ramps = sorted(ramps, key=lambda r: (r.start, r.way))

    def has_levels(self):
        return any(m.kind != "accent" for m in self.marks)

    def sounds(self, start, end):
        return any(n[0] < end and n[1] > start for n in self.notes)


def measure_starts(parts):
    """Where each measure starts, in quarters. A measure is as long as its fullest staff, and never
    longer than its meter; a short first one is a pickup, and stands at the end of its bar."""
    rows = [list(p.getElementsByClass("Measure")) for p in parts]
    starts, meters, now = [], [], 0
    for i in range(min(len(r) for r in rows)):
        here = [r[i] for r in rows]
        full = here[0].barDuration.quarterLength
        length = min(full, max(m.duration.quarterLength for m in here))
        if i == 0 and length < full:
            now = full - length
        signature = here[0].timeSignature
        if signature is not None:
            meters.append((0 if i == 0 else now, (signature.numerator, signature.denominator)))
        starts.append(now)
        now += length
    return starts, meters or [(0, (4, 4))], now


def bar_lines(meters, end):
    """Ticks of the bar lines by the meters, the one behind the last bar too."""
    lines, tick = [0], 0
    while tick < end:
        top, bottom = [m for at, m in meters if at <= tick][-1]
        tick += TPQ * 4 * top // bottom
        lines.append(tick)
    return lines


def read_score(name, staves):
    from music21 import chord, corpus, dynamics, expressions, harmony, instrument, note

    score = corpus.parse(name)
    if any(i.transposition for i in score.recurse().getElementsByClass(instrument.Instrument)):
        score = score.toSoundingPitch()
    parts = list(score.parts)
    starts, meters, length = measure_starts(parts)
    ticks = lambda quarters: round(quarters * TPQ)
    meters = [(ticks(at), meter) for at, meter in meters]
    lines = bar_lines(meters, ticks(length))[:MOST_BARS + 1]
    starts = [start for start in starts if ticks(start) < lines[-1]]
    walks, at = [], {}  # every element with its tick, by part; and ticks by the element's identity
    for part in parts:
        walk = []
        for measure, start in zip(part.getElementsByClass("Measure"), starts):
            walk += [(item, ticks(start + item.getOffsetInHierarchy(measure)))
                     for item in measure.recurse()]
        walks.append(walk)
        at.update((id(item), tick) for item, tick in walk)
    groups = []
    for group in staves:
        played, marks, ramps = [], set(), set()
        for i in group:
            struck = []
            for item, tick in walks[i]:
                if isinstance(item, dynamics.Dynamic):
                    mark = told(tick, item.value)
                    if mark:
                        marks.add(mark)
                elif isinstance(item, expressions.TextExpression):
                    way = way_of_words(item.content)
                    if way:
                        ramps.add(Ramp(tick, None, way))
                elif isinstance(item, note.Note) or (
                        isinstance(item, chord.Chord) and not isinstance(item, harmony.Harmony)):
                    end = min(tick + ticks(item.quarterLength), lines[-1])
                    if end > tick:
                        # Of a chord, each note has its own tie.
                        each = item.notes if isinstance(item, chord.Chord) else [item]
                        struck += [(tick, end, n.pitch.midi, tied(n)) for n in each]
            played.append(joined(struck))
            for wedge in parts[i].recurse().getElementsByClass(dynamics.DynamicWedge):
                first, last = wedge.getFirst(), wedge.getLast()
                if id(first) not in at or id(last) not in at:
                    continue
                start = at[id(first)]
                end = at[id(last)] + ticks(last.quarterLength)
                if end > start:
                    way = 1 if isinstance(wedge, dynamics.Crescendo) else -1
                    ramps.add(Ramp(start, end, way))
        groups.append(Group(played, marks, ramps))
    count = sum(len(g.marks) + len(g.ramps) for g in groups)
    marked = [g for g in groups if g.has_levels()]
    if not marked:
        raise ValueError(f"{name} carries no dynamics")
    for group in groups:  # a voice without marks goes along with those that have some
        if not group.has_levels():
            group.marks, group.ramps = marked[0].marks, marked[0].ramps
    return Score(name, lines, meters, groups, count)


def tied(note):
    """Whether a note only goes on with the one before."""
    return note.tie is not None and note.tie.type in ("stop", "continue")


def joined(struck):
    """Notes (onset, end, pitch) with what is tied to them."""
    out, ends = [], {}
    for onset, end, pitch, goes_on in sorted(struck):
        held = ends.get((onset, pitch))
        if goes_on and held is not None:
            out[held] = (out[held][0], end, pitch)
        else:
            held = len(out)
            out.append((onset, end, pitch))
        ends[end, pitch] = held
    return out


def told(tick, word):
    """What a mark says; nothing if it is none that we know."""
    if word in LEVELS:
        return Mark(tick, "level", LEVELS[word])
    if word in THEN_SOFT:
        return Mark(tick, "then_soft", THEN_SOFT[word])
    return Mark(tick, "accent", STEP) if word in ACCENTS else None


def way_of_words(text):
    text = text.lower().strip()
    if text.startswith(DOWN_WORDS):
        return -1
    return 1 if text.startswith(UP_WORDS) else 0


# ---------------------------------------------------------------- how loud

class Loudness:
    """The written loudness of a group over time, as velocities."""

    def __init__(self, group, bars):
        self.levels = {}  # the louder of two marks at one place, which are an editor's doubling
        self.accents = {m.tick for m in group.marks if m.kind == "accent"}
        self.struck = {m.tick: m.value for m in group.marks if m.kind == "then_soft"}
        for m in group.marks:
            if m.kind == "level":
                self.levels[m.tick] = max(m.value, self.levels.get(m.tick, 0))
        for tick in self.struck:
            self.levels.setdefault(tick, SOFT)
        self.marked_from = min(self.levels, default=None)
        self.ramps = self.bounded(group.ramps, bars)
        self.pieces = self.laid(bars)
        self.starts = [p[0] for p in self.pieces]

    def bounded(self, ramps, bars):
        """Ramps with an end: words last to the next mark; none goes over a mark or a later ramp."""
        stops = sorted(self.levels)
        out = []
        for i, ramp in enumerate(ramps):
            later = [r.start for r in ramps[i + 1:] if r.start > ramp.start]
            bar = bisect.bisect_right(bars, ramp.start) - 1
            end = ramp.end or bars[min(bar + LONGEST_WORD, len(bars) - 1)]
            after = [t for t in stops if t > ramp.start]
            end = min([end] + after[:1] + later[:1])
            if out and out[-1].start == ramp.start:
                continue
            if end > ramp.start:
                out.append(Ramp(ramp.start, end, ramp.way))
        return out

    def laid(self, bars):
        """Pieces (start, value, end, value), of which the last value holds until the next."""
        events = [(t, 0, v) for t, v in self.levels.items()]
        events += [(r.start, 1, r) for r in self.ramps]
        pieces, value = [(-1, MF, -1, MF)], MF
        for tick, order, what in sorted(events, key=lambda e: e[:2]):
            if order == 0:
                value = what
                pieces.append((tick, value, tick, value))
                continue
            goal = self.goal(what, value, bars)
            pieces.append((tick, value, what.end, goal))
            value = goal
        return pieces

    def goal(self, ramp, value, bars):
        """The mark that a ramp leads to, or one step on where there is none within a bar."""
        bar = bisect.bisect_right(bars, ramp.end) - 1
        near = bars[min(bar + 1, len(bars) - 1)]
        for tick in sorted(self.levels):
            if ramp.end <= tick <= near and ramp.way * (self.levels[tick] - value) > 0:
                return self.levels[tick]
            if tick > near:
                break
        return min(LOUDEST, max(SOFTEST, value + ramp.way * STEP))

    def at(self, tick):
        start, value, end, goal = self.pieces[bisect.bisect_right(self.starts, tick) - 1]
        if tick >= end:
            return goal
        return value + (goal - value) * (tick - start) / (end - start)

    def velocity(self, tick):
        loud = self.struck.get(tick, self.at(tick) + (STEP if tick in self.accents else 0))
        return round(min(LOUDEST, max(1, loud)))

    def marked(self, tick):
        return self.marked_from is not None and tick >= self.marked_from

    def within(self, start, end):
        """The least and the most between two ticks."""
        inside = [t for t in self.starts if start < t < end]
        ends = [p[2] for p in self.pieces if start < p[2] < end]
        values = [self.at(t) for t in [start, end - 1, *inside, *ends]]
        values += [self.at(t - 1) for t in inside if t > start]
        return min(values), max(values)


# ---------------------------------------------------------------- places and passages

def events_of(group_number, loudness):
    """Where one group grows louder (way 1) or softer (-1)."""
    out = [Event(r.start, r.end, r.way, group_number) for r in loudness.ramps
           if loudness.marked(r.start)]
    for tick, value in loudness.levels.items():
        change = value - loudness.at(tick - 1)
        if loudness.marked(tick - 1) and abs(change) > STEP / 2:
            out.append(Event(tick, tick, 1 if change > 0 else -1, group_number))
    return out


def clusters(events, bars):
    """Events of one way that belong together: begun within a bar, or while the first goes on."""
    rows = []
    for event in sorted(events):
        if rows:
            row = rows[-1]
            bar = bisect.bisect_right(bars, row[0].start) - 1
            length = bars[min(bar + 1, len(bars) - 1)] - bars[bar]
            if event.start < row[0].start + length or event.start < row[0].end:
                row.append(event)
                continue
        rows.append([event])
    return rows


def candidates(score, start, end):
    """Pairs of bars around a change, the better ones first: whole bars outside it, or else those
    that it fills for the most part."""
    bars = score.bars
    inside = [b for b in range(len(bars) - 1)
              if start <= (bars[b] + bars[b + 1]) / 2 < end]
    before = [bisect.bisect_right(bars, start) - 2] + inside[:1]
    after = [bisect.bisect_left(bars, end)] + inside[-1:]
    for b in before:
        for a in after:
            if 0 <= b < a < len(bars) - 1 and a - b <= LONGEST_PLACE:
                yield b, a


def places_of(score, loud):
    """Where the whole grows louder or softer by the marks: at least half of the groups that sound
    there do, and none does the opposite between the two bars that are compared."""
    events = [e for i, row in enumerate(loud) for e in events_of(i, row)]
    out = []
    for way in (1, -1):
        against = [e for e in events if e.way == -way]
        for row in clusters([e for e in events if e.way == way], score.bars):
            start, end = min(e.start for e in row), max(e.end for e in row)
            for before, after in candidates(score, start, end):
                first, last = score.bars[before], score.bars[after + 1]
                if any(e.start < last and max(e.end, e.start + 1) > first for e in against):
                    continue
                playing = [i for i, g in enumerate(score.groups) if g.sounds(first, last)]
                going = {e.group for e in row} & set(playing)
                heard = all(any(g.sounds(score.bars[b], score.bars[b + 1]) for g in score.groups)
                            for b in (before, after))
                if heard and 2 * len(going) >= len(playing):
                    out.append(Place(before, after, way))
                    break
    return sorted(set(out))


def passages_of(score, loud):
    """Runs of two bars or more that are f or louder, or p or softer, in all that sounds."""
    kinds = []
    for start, end in zip(score.bars, score.bars[1:]):
        playing = [row for g, row in zip(score.groups, loud) if g.sounds(start, end)]
        kind = 0
        if playing and all(row.marked(start) for row in playing):
            ranges = [row.within(start, end) for row in playing]
            if all(low >= LOUD for low, _ in ranges):
                kind = 1
            elif all(high <= SOFT for _, high in ranges):
                kind = -1
        kinds.append(kind)
    runs, i = [], 0
    while i < len(kinds):
        j = i
        while j < len(kinds) and kinds[j] == kinds[i]:
            j += 1
        if kinds[i] and j - i >= 2:
            runs.append((kinds[i], i, j))
        i = j
    return runs


def neighbours(runs):
    """Pairs (loud, soft) of passages that follow one another, whichever comes first."""
    return [(a, b) if a[0] > 0 else (b, a) for a, b in zip(runs, runs[1:]) if a[0] != b[0]]


def every_pair(runs):
    return [(a, b) for a in runs if a[0] > 0 for b in runs if b[0] < 0]


# ---------------------------------------------------------------- MIDI

def tidy(notes):
    """One hand, so that no pitch is struck while it sounds; of unisons the longest stays."""
    by_pitch = collections.defaultdict(list)
    for n in sorted(notes, key=lambda n: (n.onset, -n.end, -n.velocity)):
        row = by_pitch[n.pitch]
        if row and row[-1].onset == n.onset:
            continue
        if row and row[-1].end > n.onset:
            n = n._replace(end=max(n.end, row[-1].end))
            row[-1] = row[-1]._replace(end=n.onset)
        row.append(n)
    return sorted(n for row in by_pitch.values() for n in row)


def hands_of(score, velocity):
    """Two hands: the upper half of the staves and the rest."""
    rows = [[Note(*n, velocity(i, n[0])) for n in staff]
            for i, group in enumerate(score.groups) for staff in group.staves]
    half = (len(rows) + 1) // 2
    return [tidy([n for r in rows[:half] for n in r]), tidy([n for r in rows[half:] for n in r])]


def write_sketch(score, velocity, path):
    mid = mido.MidiFile(type=1, ticks_per_beat=TPQ)
    track, now = mido.MidiTrack(), 0
    track.append(mido.MetaMessage("set_tempo", tempo=625_000, time=0))  # 96 quarters a minute
    for at, (top, bottom) in score.meters:
        if at < score.bars[-1]:
            track.append(mido.MetaMessage("time_signature", numerator=top, denominator=bottom,
                                          time=at - now))
            now = at
    mid.tracks.append(track)
    for channel, hand in enumerate(hands_of(score, velocity)):
        track, now = mido.MidiTrack(), 0
        name = ("Piano right hand", "Piano left hand")[channel]
        track.append(mido.MetaMessage("track_name", name=name, time=0))
        events = [(n.onset, 1, n.pitch, n.velocity) for n in hand]
        events += [(n.end, 0, n.pitch, 64) for n in hand]
        for at, on, pitch, loud in sorted(events):
            kind = "note_on" if on else "note_off"
            track.append(mido.Message(kind, channel=channel, note=pitch, velocity=loud,
                                      time=at - now))
            now = at
        mid.tracks.append(track)
    mid.save(path)


# ---------------------------------------------------------------- running

class Failed(Exception):
    """The program did not give what it was asked for; says where."""


def shape(program, sketch, band, target, *more):
    """What the program tells of the shape of one sketch voiced for one band."""
    sketches = [] if sketch is None else [str(sketch)]
    where = f"shape {sketches[0] if sketches else 'of the demo'} --band {band} {' '.join(more)}"
    target.unlink(missing_ok=True)
    try:
        done = subprocess.run([str(program), "shape", *sketches, "--band", band, "--json",
                               str(target), *more], capture_output=True, text=True,
                              timeout=TIMEOUT, stdin=subprocess.DEVNULL)
    except subprocess.TimeoutExpired:
        raise Failed(f"{where}: longer than {TIMEOUT} s") from None
    if done.returncode != 0:
        raise Failed(f"{where}: status {done.returncode}: {done.stderr.strip()[-300:]}")
    try:
        movement, = json.loads(target.read_text())["movements"]
    except (OSError, ValueError, KeyError) as why:
        raise Failed(f"{where}: its JSON cannot be used: {why}") from None
    return movement


def curves_of(movement, bars, where):
    """The reached curve and loudness alone, by bar."""
    loudness = [m["values"] for m in movement["measures"] if m["measure"] == "loudness"]
    found = {"curve": movement["reached"], "loudness": loudness[0] if loudness else []}
    for name, row in found.items():
        if len(row) < bars or any(v is None or not math.isfinite(v) for v in row):
            raise Failed(f"{where}: {name} has {len(row)} figures for {bars} bars, or no figures")
    return found


def correlation(a, b):
    """Pearson's; 0 where one of the two does not move."""
    mean_a, mean_b = sum(a) / len(a), sum(b) / len(b)
    together = sum((x - mean_a) * (y - mean_b) for x, y in zip(a, b))
    alone = math.sqrt(sum((x - mean_a) ** 2 for x in a) * sum((y - mean_b) ** 2 for y in b))
    return together / alone if alone > 0 else 0.0


STRAIGHT = """name = "{name}"
note = "From {first} to {last}."
source = "ours"
unit = "shares"

[[section]]
name = "All"
start = 0.0

[[point]]
at = 0.0
intensity = {first}
way = "straight"

[[point]]
at = 1.0
intensity = {last}
way = "straight"
"""


def opposite(program, sketch, band, work, stem):
    """Correlations of wanted and reached under a straight rise and a straight fall."""
    out = []
    for name, first, last in (("rise", 1, 10), ("fall", 10, 1)):
        timeline = work / f"{stem}.{name}.toml"
        timeline.write_text(STRAIGHT.format(name=name, first=first, last=last))
        where = f"{stem}, {band}, {name}"
        told = shape(program, sketch, band, work / f"{stem}.{name}.json", "--timeline",
                     str(timeline))
        wanted, reached = told["wanted"], told["reached"]
        if len(wanted) != len(reached) or len(wanted) < 8 or None in wanted + reached:
            raise Failed(f"{where}: {len(wanted)} wanted and {len(reached)} reached figures")
        if (wanted[-1] - wanted[0]) * (last - first) <= 0:
            raise Failed(f"{where}: the wanted curve goes from {wanted[0]} to {wanted[-1]}")
        ours = correlation(wanted, reached)
        if abs(ours - told["correlation"]) > 0.002:
            raise Failed(f"{where}: the program tells a correlation of {told['correlation']}, "
                         f"its own figures give {ours:.4f}")
        out.append(ours)
    return out


def work_on(job):
    """One piece: read, written as sketches, voiced for every band. Runs in its own process."""
    program, work, name, staves, bands, more = job
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # overfull measures, which `measure_starts` mends
            score = read_score(name, staves)
        loud = [Loudness(g, score.bars) for g in score.groups]
        stem = name.rsplit(".", 1)[0].replace("/", "-")
        sketch, plain = work / f"{stem}.mid", work / f"{stem}.mf.mid"
        write_sketch(score, lambda group, tick: loud[group].velocity(tick), sketch)
        bars = len(score.bars) - 1
        curves = {}
        for band in bands:
            told = shape(program, sketch, band, work / f"{stem}.{band}.json")
            curves[band] = curves_of(told, bars, f"{stem}, {band}")
        if more:
            write_sketch(score, lambda group, tick: MF, plain)
            told = shape(program, plain, COMPARISON_BAND, work / f"{stem}.mf.json")
            curves["all mf"] = curves_of(told, bars, f"{stem}, all mf")
        both = None
        if more and name in OPPOSITE:
            both = opposite(program, sketch, OPPOSITE[name], work, stem)
    except Failed as why:
        return name, str(why), None
    except Exception as why:  # a score that music21 reads differently
        return name, f"{name}: {type(why).__name__}: {why}", None
    return name, None, (bars, score.marks, places_of(score, loud), passages_of(score, loud),
                        curves, both)


# ---------------------------------------------------------------- counting

class Share:
    """How often something holds, by piece."""

    def __init__(self):
        self.by_piece = collections.defaultdict(lambda: [0, 0])

    def add(self, piece, holds):
        self.by_piece[piece][0] += bool(holds)
        self.by_piece[piece][1] += 1

    def join(self, other):
        for piece, (held, count) in other.by_piece.items():
            self.by_piece[piece][0] += held
            self.by_piece[piece][1] += count

    def held(self):
        return sum(h for h, _ in self.by_piece.values())

    def count(self):
        return sum(n for _, n in self.by_piece.values())

    def share(self):
        return self.held() / self.count() if self.count() else 0.0

    def binomial(self):
        return math.sqrt(self.share() * (1 - self.share()) / self.count()) if self.count() else 1.0

    def clustered(self):
        """Standard error with pieces, not places, as what was drawn."""
        if not self.count():
            return 1.0
        p = self.share()
        return math.sqrt(sum((h - p * n) ** 2 for h, n in self.by_piece.values())) / self.count()

    def text(self):
        counts = f"{self.share():6.3f} {self.held():4d}/{self.count():<4d} "
        if self.count() and self.held() in (0, self.count()):
            return counts + f" (all or none: 95 % within {3 / self.count():.3f})"
        return counts + f"{self.binomial():6.3f} {self.clustered():6.3f}"


QUESTIONS = ("rises", "falls", "f over p", "any f over any p")


def count_piece(shares, band, name, places, runs, curves):
    mean = lambda row, run: sum(row[run[1]:run[2]]) / (run[2] - run[1])
    for measure in MEASURES:
        row = curves[measure]
        for place in places:
            question = "rises" if place.way > 0 else "falls"
            # No change is no rise: it counts against.
            shares[question, measure, band].add(
                name, place.way * (row[place.after] - row[place.before]) > 0)
        for question, pairs in (("f over p", neighbours(runs)),
                                ("any f over any p", every_pair(runs))):
            for high, low in pairs:
                shares[question, measure, band].add(name, mean(row, high) > mean(row, low))


def all_bands(shares, question, measure, bands):
    total = Share()
    for band in bands:
        total.join(shares[question, measure, band])
    return total


def verdicts(shares, bands, floors):
    """(What, does it hold, in words), for every figure with a floor."""
    out = []
    for (question, measure), floor in floors.items():
        total = all_bands(shares, question, measure, bands)
        out.append((f"{question}, {measure}", total.share() >= floor,
                    f"{total.share():.3f} of {total.count()}, floor {floor}"))
        for band in bands:
            one = shares[question, measure, band]
            out.append((f"{question}, {measure}, {band}: more than half", one.share() > 0.5,
                        f"{one.share():.3f} of {one.count()}"))
    return out


def table(shares, bands):
    print(f"\n{'':18} {'measure':9} {'band':16} share  held/of  binom. by piece (standard errors)")
    for question in QUESTIONS:
        for measure in MEASURES:
            rows = [("all three", all_bands(shares, question, measure, bands))]
            rows += [(band, shares[question, measure, band]) for band in bands]
            if shares[question, measure, "all mf"].count():
                rows.append(("(all mf)", shares[question, measure, "all mf"]))
            for band, share in rows:
                print(f"{question:18} {measure:9} {band:16} {share.text()}")


# ---------------------------------------------------------------- the check and its own test

def gather(program, work, pieces, bands, more):
    """Every piece worked on, two at a time, in the order of the list; with `more`, the demo's
    correlations too, or why there are none."""
    jobs = [(program, work, name, staves, bands, more) for name, staves in pieces]
    with concurrent.futures.ProcessPoolExecutor(PROCESSES) as pool:
        waiting = [pool.submit(work_on, job) for job in jobs]
        demo = pool.submit(opposite, program, None, "demo", work, "demo") if more else None
        results = [future.result() for future in waiting]
        try:
            return results, demo and demo.result()
        except Failed as why:
            return results, str(why)


def check(program, work):
    began = time.time()
    results, demo = gather(program, work, PIECES, BANDS, True)
    failures, shares, both = [], collections.defaultdict(Share), {}
    bars = marks = places = pairs = 0
    print(f"{'piece':44} {'bars':>4} {'marks':>5} {'up':>3} {'down':>4} {'pairs':>5}  "
          f"rises, falls, f over p (curve, all bands)")
    for name, wrong, found in results:
        if wrong:
            failures.append(wrong)
            continue
        here, counted, where, runs, curves, straight = found
        bars, marks = bars + here, marks + counted
        places, pairs = places + len(where), pairs + len(neighbours(runs))
        for band, row in curves.items():
            count_piece(shares, band, name, where, runs, row)
        if straight:
            both[name] = straight
        up = sum(p.way > 0 for p in where)
        cells = []
        for question in QUESTIONS[:3]:
            held, of = all_bands(shares, question, "curve", BANDS).by_piece[name]
            cells.append(f"{held}/{of}" if of else "-")
        print(f"{name:44} {here:4} {counted:5} {up:3} {len(where) - up:4} "
              f"{len(neighbours(runs)):5}  {', '.join(cells)}")
    print(f"{len(results) - len(failures)} pieces, {bars} bars, {marks} marks, hairpins and words; "
          f"{places} places where the whole grows louder or softer, {pairs} pairs of passages")
    table(shares, BANDS)

    print("\nTwo opposite timelines: correlation of wanted and reached, rise and fall")
    for name, band in OPPOSITE.items():
        if name in both:
            print(f"  {name:42} {band:16} {both[name][0]:6.3f} {both[name][1]:6.3f}")
    if isinstance(demo, str):
        failures.append(demo)
        demo = [-1.0]
    else:
        print(f"  {'the demo':42} {'demo':16} {demo[0]:6.3f} {demo[1]:6.3f}")

    rows = verdicts(shares, BANDS, FLOORS)
    for measure in MEASURES:
        for question in ("rises", "f over p"):
            ours = shares[question, measure, COMPARISON_BAND].share()
            plain = shares[question, measure, "all mf"].share()
            rows.append((f"{question}, {measure}, {COMPARISON_BAND}: more than with all mf",
                         ours > plain, f"{ours:.3f} against {plain:.3f}"))
    worst = min((c for pair in both.values() for c in pair), default=-1.0)
    rows.append(("worst correlation of the pieces", worst >= WORST_CORRELATION,
                 f"{worst:.3f}, floor {WORST_CORRELATION}"))
    rows.append(("worst correlation of the demo", min(demo) >= DEMO_CORRELATION,
                 f"{min(demo):.3f}, floor {DEMO_CORRELATION}"))
    failures += [f"{what}: {words}" for what, holds, words in rows if not holds]
    for why in failures:
        print(f"FAILED {why}")
    print(f"shape checks: {len(rows)} figures, {len(failures)} failures, "
          f"{time.time() - began:.0f} s", flush=True)
    return 1 if failures else 0


def small_score():
    """Eight bars of 4/4: p, a hairpin over bars 3 and 4, f, and p again from bar 7."""
    bar = TPQ * 4
    marks = {Mark(0, "level", 49), Mark(bar * 4, "level", 97), Mark(bar * 6, "level", 49)}
    notes = [(i * TPQ, (i + 1) * TPQ, 60) for i in range(32)]
    group = Group([notes], marks, {Ramp(bar * 2, bar * 4, 1)})
    return Score("small", [bar * i for i in range(9)], [(0, (4, 4))], [group])


def self_test(program, work):
    """The check's own parts on music small enough to see through; and that it can fail."""
    score = small_score()
    loud = [Loudness(g, score.bars) for g in score.groups]
    bar = TPQ * 4
    assert [loud[0].velocity(bar * i) for i in range(8)] == [49, 49, 49, 73, 97, 97, 49, 49]
    assert places_of(score, loud) == [Place(1, 4, 1), Place(5, 6, -1)], places_of(score, loud)
    runs = passages_of(score, loud)
    assert runs == [(-1, 0, 2), (1, 4, 6), (-1, 6, 8)], runs
    assert neighbours(runs) == [(runs[1], runs[0]), (runs[1], runs[2])]
    word = Loudness(Group([], {Mark(0, "level", 49), Mark(bar, "level", 81)},
                          {Ramp(TPQ, None, 1)}), score.bars)
    assert word.ramps == [Ramp(TPQ, bar, 1)] and word.at(bar - 1) > 80 and word.at(TPQ) == 49
    soft = Loudness(Group([], {Mark(0, "level", 81), Mark(TPQ, "then_soft", 97),
                               Mark(bar, "accent", STEP)}, set()), score.bars)
    assert [soft.velocity(t) for t in (0, TPQ, TPQ * 2, bar)] == [81, 97, 49, 65]
    assert way_of_words("Cresc.") == 1 and way_of_words("decresc.") == -1
    assert not way_of_words("dolce")
    assert abs(correlation([1, 2, 3], [2, 4, 6]) - 1) < 1e-9 and correlation([1, 2], [5, 5]) == 0
    share = Share()
    for piece, holds in (("a", True), ("a", True), ("b", True), ("b", False)):
        share.add(piece, holds)
    assert share.share() == 0.75 and abs(share.binomial() - math.sqrt(0.75 * 0.25 / 4)) < 1e-9

    # A few pieces and one band: the floors of all pieces are not theirs.
    some = [p for p in PIECES if p[0] in OPPOSITE or p[0].startswith("haydn")]
    floors = dict.fromkeys(FLOORS, FEW_PIECES)
    results, _ = gather(program, work, some, BANDS[1:2], False)
    wrong = [why for _, why, _ in results if why]
    if wrong:
        print("\n".join(f"FAILED {why}" for why in wrong))
        return 1
    turned = {
        "as they are": lambda row: row,
        "upside down": lambda row: [-v for v in row],
        "flat": lambda row: [5.0] * len(row),
        "one bar for another": lambda row: [row[(i * 7 + 3) % len(row)] for i in range(len(row))],
    }
    bad = 0
    for how, turn in turned.items():
        shares = collections.defaultdict(Share)
        for name, _, (_, _, places, runs, curves, _) in results:
            for band, row in curves.items():
                count_piece(shares, band, name, places, runs, {m: turn(row[m]) for m in row})
        rows = verdicts(shares, BANDS[1:2], floors)
        failing = sum(not holds for _, holds, _ in rows)
        if how == "as they are":
            for what, _, words in rows:
                print(f"  {what}: {words}")
        print(f"curves {how:20} {failing:2} of {len(rows)} figures fail")
        bad += (failing > 0) == (how == "as they are")
    print("self-test: the check's own parts hold, and it fails where it must" if not bad
          else "FAILED self-test: the check does not tell true curves from false ones", flush=True)
    return 1 if bad else 0


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--program", type=pathlib.Path,
                     default=ROOT / "target" / "release" / "bandwright")
    ask.add_argument("--work", type=pathlib.Path, default=ROOT / "target" / "ci" / "shape")
    ask.add_argument("--self-test", action="store_true", help="only show that the check can fail")
    args = ask.parse_args()
    if not args.program.is_file():
        sys.exit(f"there is no program at {args.program}: build it, or name it with --program")
    args.work.mkdir(parents=True, exist_ok=True)
    return (self_test if args.self_test else check)(args.program.resolve(), args.work.resolve())


if __name__ == "__main__":
    sys.exit(main())
