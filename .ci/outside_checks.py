#!/usr/bin/env python3
"""The whole way on real music, checked from outside.

Makes piano sketches from the music21 corpus, lets the program read, voice and review them, and
checks what comes out. Nothing here shares code with the program: slices, ranges and overlaps are
worked out anew from the MIDI files' own notes.

Usage: outside_checks.py [--program target/release/bandwright] [--work target/ci/outside]
                         [--chorales 25] [--self-test]
"""

import argparse
import collections
import concurrent.futures
import json
import os
import pathlib
import shutil
import stat
import subprocess
import sys
import time

import mido

import remarks

TPQ = 960
BANDS = ["medium-marching", "thin", "concert"]
OTHERS = [
    "mozart/k545/movement1_exposition",
    "schumann_clara/polonaise_op1n1",
    "schumann_clara/polonaise_op1n3",
    "verdi/laDonnaEMobile",
    "liliuokalani/aloha_oe",
    "johnson_j_r/lift_every_voice",
]
ROOT = pathlib.Path(__file__).resolve().parent.parent
TIMEOUT = 240

Note = collections.namedtuple("Note", "onset end pitch")


# ---------------------------------------------------------------- counting

class Tally:
    """What passed and what failed, with the first few failures in words."""

    def __init__(self):
        self.passed = 0
        self.failed = 0
        self.by_name = collections.OrderedDict()

    def check(self, name, place, ok, why=""):
        row = self.by_name.setdefault(name, [0, 0])
        if ok:
            self.passed += 1
            row[0] += 1
        else:
            self.failed += 1
            row[1] += 1
            print(f"FAILED {name}: {place}: {why}"[:600], flush=True)
        return bool(ok)


# ---------------------------------------------------------------- music in

def tidy(notes):
    """The notes of one channel so that no pitch is struck while it sounds.

    Unisons that start together become one note of the longer length; a pitch struck again while
    it is held ends the held note there.
    """
    by_pitch = collections.defaultdict(list)
    for n in sorted(notes, key=lambda n: (n.onset, -n.end)):
        row = by_pitch[n.pitch]
        if row and row[-1].onset == n.onset:
            continue
        if row and row[-1].end > n.onset:
            held = row[-1]
            row[-1] = held._replace(end=n.onset)
            n = n._replace(end=max(n.end, held.end))
        row.append(n)
    return sorted(n for row in by_pitch.values() for n in row)


class Piece:
    """A sketch as it goes into a MIDI file, and the voices of the score where it has four."""

    def __init__(self, name, hands, tempos, meters, keys, soprano=None, bass=None):
        self.name = name
        self.hands = hands
        self.tempos = tempos
        self.meters = meters
        self.keys = keys
        self.soprano = soprano
        self.bass = bass


def part_notes(part, shift):
    """Sounding notes of a part in ticks; grace notes of no length dropped."""
    from music21 import chord, harmony, note

    out = []
    for item in part.stripTies().flatten().notes:
        if isinstance(item, harmony.Harmony):
            continue
        if isinstance(item, chord.Chord):
            pitches = item.pitches
        elif isinstance(item, note.Note):
            pitches = (item.pitch,)
        else:
            continue
        onset = round((item.offset + shift) * TPQ)
        end = round((item.offset + shift + item.quarterLength) * TPQ)
        if end > onset:
            out.extend(Note(onset, end, p.midi) for p in pitches)
    return out


def pickup(part):
    """How many quarters the first bar is short of its meter."""
    measures = list(part.getElementsByClass("Measure"))
    if not measures:
        return 0
    first = measures[0]
    full = first.barDuration.quarterLength
    here = first.duration.quarterLength
    return max(0, full - here) if here < full else 0


def conductor_of(part, score, shift):
    """Tempo, meter and key changes in ticks."""
    from music21 import key as m21key

    at = lambda offset: 0 if offset == 0 else round((offset + shift) * TPQ)
    flat = part.flatten()
    meters, keys, tempos = {}, {}, {}
    for ts in flat.getElementsByClass("TimeSignature"):
        if ts.denominator in (1, 2, 4, 8, 16, 32):
            meters[at(ts.offset)] = (ts.numerator, ts.denominator)
    for ks in flat.getElementsByClass("KeySignature"):
        minor = isinstance(ks, m21key.Key) and ks.mode == "minor"
        keys[at(ks.offset)] = (ks.sharps, minor)
    for mark in score.flatten().getElementsByClass("MetronomeMark"):
        try:
            bpm = mark.getQuarterBPM()
        except Exception:  # a mark without a number
            bpm = None
        if bpm:
            tempos[at(mark.offset)] = round(60_000_000 / bpm)
    meters.setdefault(0, (4, 4))
    keys.setdefault(0, (0, False))
    tempos.setdefault(0, round(60_000_000 / 96))
    return sorted(tempos.items()), sorted(meters.items()), sorted(keys.items())


def from_score(name, score, voices):
    """A piece from a score; `voices` says whether its parts are four voices."""
    parts = list(score.parts)
    pianos = [p for p in parts if (p.partName or "").startswith("Piano")]
    if pianos and len(pianos) < len(parts):
        parts = pianos
    shift = pickup(parts[0])
    tempos, meters, keys = conductor_of(parts[0], score, shift)
    rows = [part_notes(p, shift) for p in parts]
    half = (len(rows) + 1) // 2
    hands = [
        tidy([n for r in rows[:half] for n in r]),
        tidy([n for r in rows[half:] for n in r]),
    ]
    piece = Piece(name, [h for h in hands if h], tempos, meters, keys)
    if voices:
        piece.soprano, piece.bass = sorted(rows[0]), sorted(rows[-1])
    return piece


def bach(numbers):
    """The chorales that the corpus has under some numbers, with their names."""
    from music21 import corpus

    for number in numbers:
        try:
            yield f"bwv{number}", corpus.parse(f"bach/bwv{number}")
        except Exception:  # not in the corpus under this number
            continue


def chorales(count):
    out = []
    for name, score in bach(range(352, 401)):
        if len(out) == count:
            break
        if [p.partName for p in score.parts] == ["Soprano", "Alto", "Tenor", "Bass"]:
            out.append(from_score(name, score, True))
    return out


def others():
    from music21 import corpus

    return [from_score(n.replace("/", "-"), corpus.parse(n), False) for n in OTHERS]


# ---------------------------------------------------------------- MIDI out and in

def write_track(mid, name, notes, channel, program=0, velocity=72):
    track = mido.MidiTrack()
    track.append(mido.MetaMessage("track_name", name=name, time=0))
    track.append(mido.Message("program_change", channel=channel, program=program, time=0))
    events = []
    for n in notes:
        v = n[3] if len(n) > 3 else velocity
        events.append((n[0], 1, n[2], v))
        events.append((n[1], 0, n[2], 64))
    now = 0
    for at, on, pitch, v in sorted(events):
        kind = "note_on" if on else "note_off"
        track.append(mido.Message(kind, channel=channel, note=pitch, velocity=v, time=at - now))
        now = at
    track.append(mido.MetaMessage("end_of_track", time=0))
    mid.tracks.append(track)


MAJOR = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
MINOR = ["Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m",
         "D#m", "A#m"]


def start_file(piece):
    mid = mido.MidiFile(type=1, ticks_per_beat=TPQ)
    track = mido.MidiTrack()
    events = [(0, 0, mido.MetaMessage("track_name", name=piece.name))]
    for at, (top, bottom) in piece.meters:
        events.append((at, 1, mido.MetaMessage("time_signature", numerator=top,
                                               denominator=bottom)))
    for at, (sharps, minor) in piece.keys:
        name = (MINOR if minor else MAJOR)[sharps + 7]
        events.append((at, 2, mido.MetaMessage("key_signature", key=name)))
    for at, micros in piece.tempos:
        events.append((at, 3, mido.MetaMessage("set_tempo", tempo=micros)))
    now = 0
    for at, _, message in sorted(events, key=lambda e: e[:2]):
        track.append(message.copy(time=at - now))
        now = at
    track.append(mido.MetaMessage("end_of_track", time=0))
    mid.tracks.append(track)
    return mid


def write_sketch(piece, path):
    mid = start_file(piece)
    names = ["Piano right hand", "Piano left hand"]
    for i, hand in enumerate(piece.hands):
        write_track(mid, names[i], hand, i)
    mid.save(path)


def write_one_track(piece, path):
    mid = start_file(piece)
    write_track(mid, "Piano", tidy([n for h in piece.hands for n in h]), 0)
    mid.save(path)


class ReadTrack:
    """One track of a MIDI file, its notes paired."""

    def __init__(self, track):
        self.name = ""
        self.notes = []
        self.velocities = {}
        self.channels = set()
        self.programs = []
        self.first_note = None
        self.pedal = []
        self.hanging = 0
        self.stray = 0
        now = 0
        held = collections.defaultdict(list)
        for m in track:
            now += m.time
            if m.type == "track_name":
                self.name = self.name or m.name
            elif m.type == "program_change":
                self.programs.append((now, m.program))
            elif m.type == "control_change" and m.control == 64:
                self.pedal.append((now, m.channel, m.value >= 64))
            elif m.type == "note_on" and m.velocity > 0:
                self.channels.add(m.channel)
                if self.first_note is None:
                    self.first_note = now
                held[m.channel, m.note].append((now, m.velocity))
            elif m.type in ("note_off", "note_on"):
                row = held[m.channel, m.note]
                if row:
                    start, velocity = row.pop(0)
                    self.notes.append((start, now, m.note, velocity, m.channel))
                else:
                    self.stray += 1
        self.hanging = sum(len(r) for r in held.values())
        self.notes.sort()
        self.end = now


def read_midi(path):
    mid = mido.MidiFile(path)
    return mid, [ReadTrack(t) for t in mid.tracks]


def conductor_events(mid):
    out = {"tempo": set(), "meter": set(), "key": set()}
    for track in mid.tracks:
        now = 0
        for m in track:
            now += m.time
            if m.type == "set_tempo":
                out["tempo"].add((now, m.tempo))
            elif m.type == "time_signature":
                out["meter"].add((now, m.numerator, m.denominator))
            elif m.type == "key_signature":
                out["key"].add((now, m.key))
    return out


def pedalled(track):
    """The track's notes as they sound: held on while the sustain pedal of their channel is down."""
    downs = collections.defaultdict(list)  # channel -> [(down, up)]
    for at, channel, down in track.pedal:
        row = downs[channel]
        if down and (not row or row[-1][1] is not None):
            row.append([at, None])
        elif not down and row and row[-1][1] is None:
            row[-1][1] = at
    starts = collections.defaultdict(list)
    for start, _, pitch, _, channel in track.notes:
        starts[channel, pitch].append(start)
    out = []
    for start, end, pitch, _, channel in track.notes:
        for down, up in downs[channel]:
            up = max(track.end, end) if up is None else up
            if down <= end < up:
                again = [s for s in starts[channel, pitch] if s > start]
                end = max(end, min([up] + again))
                break
        if end > start:
            out.append(Note(start, end, pitch))
    return out


HELD = ("broken_chord", "alberti", "tremolo", "rolled_chord")


def figure_harmony(reading, notes):
    """What `read` tells of the chords under broken chords and the like, as sounding notes, and what
    is wrong in it: a pitch that the sketch does not strike in the time told, chords that overlap,
    chords that do not begin with a stroke of the figure."""
    starts = collections.defaultdict(list)
    for n in notes:
        starts[n.pitch].append(n.onset)
    told, wrong = [], []
    for figure in reading.get("figures", []):
        if figure["kind"] not in HELD:
            continue
        before, own = 0, {(n["onset"], n["pitch"]) for n in figure["notes"]}
        for held in figure["harmony"]:
            start, end = held["onset"], held["onset"] + held["duration"]
            if start < before or end <= start:
                wrong.append(("overlaps", start))
            before = end
            struck = sorted(t for t, _ in own if start <= t < end)
            if not struck or struck[0] != start:
                wrong.append(("does not begin with a stroke", start))
            for pitch in held["pitches"]:
                if not any(start <= t < end and (t, pitch) in own for t in starts[pitch]):
                    wrong.append(("not struck", start, end, pitch))
                told.append(Note(start, end, pitch))
        for onset, pitch in own:
            if onset not in starts[pitch]:
                wrong.append(("no note of the sketch", onset, pitch))
    return told, wrong


def slices(notes):
    """[(start, end, pitch classes)] over the whole time of the notes."""
    edges = sorted({n.onset for n in notes} | {n.end for n in notes})
    changes = collections.defaultdict(list)
    for n in notes:
        changes[n.onset].append((1, n.pitch % 12))
        changes[n.end].append((-1, n.pitch % 12))
    counts = collections.Counter()
    out = []
    for start, end in zip(edges, edges[1:]):
        for step, pc in changes[start]:
            counts[pc] += step
        out.append((start, end, {pc for pc, c in counts.items() if c > 0}))
    return out


def foreign(note_rows, cut):
    """Notes, with the slice, whose pitch class is not among those that sound in a slice."""
    import bisect

    starts = [s[0] for s in cut]
    last = cut[-1][1] if cut else 0
    out = []
    for part, onset, end, pitch in note_rows:
        i = max(0, bisect.bisect_right(starts, onset) - 1)
        if end > last or not cut or onset < starts[0]:
            out.append((part, onset, end, pitch, "outside the sketch"))
            continue
        while i < len(cut) and cut[i][0] < end:
            start, stop, pcs = cut[i]
            if min(stop, end) > max(start, onset) and pitch % 12 not in pcs:
                out.append((part, onset, end, pitch, (start, stop, sorted(pcs))))
                break
            i += 1
    return out


def bar_start(piece, wanted):
    """The tick at which a bar (from 1) starts, by the piece's meters."""
    bar, tick = 1, 0
    while bar < wanted:
        top, bottom = [m for at, m in piece.meters if at <= tick][-1]
        tick += TPQ * 4 * top // bottom
        bar += 1
    return tick


# ---------------------------------------------------------------- running

class Runner:
    def __init__(self, program, folder):
        self.program = str(program)
        self.folder = pathlib.Path(folder)

    def __call__(self, *args, **more):
        try:
            return subprocess.run([self.program, *map(str, args)], capture_output=True, text=True,
                                  timeout=TIMEOUT, stdin=subprocess.DEVNULL, **more)
        except subprocess.TimeoutExpired:
            return subprocess.CompletedProcess(args, 124, "", f"longer than {TIMEOUT} s")


def load(path):
    try:
        return json.loads(pathlib.Path(path).read_text())
    except (OSError, ValueError):
        return None


def keyed(notes):
    return {(n["onset"], n["pitch"] % 12) for n in notes}


def short(rows, n=3):
    rows = sorted(rows, key=str)
    return f"{len(rows)}: {rows[:n]}"


def reading_without(run, sketch_path, names):
    """What is read in a sketch when the arranger's own tracks are left out."""
    folder = run.folder
    mid = mido.MidiFile(sketch_path)
    kept = [t for t in mid.tracks if not any(m.type == "track_name" and m.name in names
                                              for m in t)]
    path = pathlib.Path(sketch_path)
    if len(kept) < len(mid.tracks):
        mid.tracks = kept
        path = folder / f"{path.stem}.piano.mid"
        mid.save(path)
    target = folder / f"{path.stem}.figures.json"
    run("read", path, "--json", target)
    return load(target) or {}


def check_draft(tally, place, sketch_path, draft_path, result, run, locked_free=False):
    """Everything about one draft that needs only the sketch file, the draft file and its JSON."""
    parts = result["draft"]["parts"]
    ranges = {p["name"]: p for p in result["band"]["parts"]}
    outside, overlaps, empty, rows = [], [], [], []
    for part in parts:
        limits = ranges.get(part["name"])
        before = None
        for n in sorted(part["notes"], key=lambda n: n["onset"]):
            end = n["onset"] + n["duration"]
            # What the arranger fixed is kept, and reported, wherever it lies.
            free = n["locked"]
            low_high = (limits["lowest"], limits["highest"]) if limits else (1, 0)
            if not free and not low_high[0] <= n["pitch"] <= low_high[1]:
                outside.append((part["name"], n["onset"], n["pitch"], low_high))
            if n["duration"] <= 0:
                empty.append((part["name"], n["onset"]))
            if before is not None and n["onset"] < before:
                overlaps.append((part["name"], n["onset"]))
            before = end
            if not free:
                rows.append((part["name"], n["onset"], end, n["pitch"]))
    tally.check("notes inside the part's range", place, not outside, short(outside))
    tally.check("one note at a time", place, not overlaps, short(overlaps))
    tally.check("no note without length", place, not empty, short(empty))

    sketch_mid, sketch_tracks = read_midi(sketch_path)
    sketch = [n for t in sketch_tracks if t.name not in ranges for n in pedalled(t)]
    # Where a figure goes through the tones of a chord, they may sound until the chord changes.
    read = reading_without(run, sketch_path, ranges)
    held, untrue = figure_harmony(read, sketch)
    tally.check("a figure's chords are struck in their time", place, not untrue, short(untrue))
    wrong = foreign(rows, slices(sketch + held))
    tally.check("no pitch class foreign to its slice", place, not wrong, short(wrong))

    # Keys and lines are told in the sketch's own ticks: these sketches are not quantised.
    found = [(k["tick"], k["fifths"]) for k in read.get("keys", [])]
    clock = remarks.Clock(sketch_mid.ticks_per_beat, conductor_events(sketch_mid), found)
    lines = {k for line in ("melody", "bass") for k in keyed(read.get("lines", {}).get(line, []))}
    for kind, rows_of_kind in remarks.broken(result, clock, lines).items():
        tally.check(kind, place, not rows_of_kind, short(rows_of_kind))

    mid, tracks = read_midi(draft_path)
    tally.check("ticks per quarter as in the sketch", place,
                mid.ticks_per_beat == sketch_mid.ticks_per_beat, mid.ticks_per_beat)
    own = [t for t in tracks if t.name in ranges]
    tally.check("tracks in the band's order", place,
                [t.name for t in own] == [p["name"] for p in result["band"]["parts"]],
                [t.name for t in own])
    by_name = {t.name: t for t in own}
    different, programs, drums, hanging = [], [], [], []
    for part in parts:
        track = by_name.get(part["name"])
        said = sorted((n["onset"], n["onset"] + n["duration"], n["pitch"], n["velocity"])
                      for n in part["notes"])
        if track is None or said != [n[:4] for n in track.notes]:
            different.append(part["name"])
    for track in own:
        start = track.first_note if track.first_note is not None else 0
        if not any(at <= start for at, _ in track.programs):
            programs.append(track.name)
        if 9 in track.channels:
            drums.append(track.name)
    for track in tracks:
        if track.hanging or track.stray:
            hanging.append((track.name, track.hanging, track.stray))
    tally.check("the file's notes are the JSON's", place, not different, different)
    tally.check("programs set", place, not programs, programs)
    tally.check("no pitched part on channel 10", place, not drums, drums)
    tally.check("no hanging notes", place, not hanging, hanging)
    before, after = conductor_events(sketch_mid), conductor_events(mid)
    for what in ("tempo", "meter", "key"):
        tally.check(f"{what} as in the sketch", place, before[what] == after[what],
                    short(before[what] ^ after[what]))
    return len(rows)


def run_piece(run, folder, piece_path, name, band):
    """The three commands, voice twice. Only runs; the checks come after, in a fixed order."""
    base = folder / f"{name}.{band}"
    out = {"place": f"{name} ({band})", "base": base, "sketch": piece_path, "band": band}
    out["draft"], out["json"] = beside(base, ".draft.mid"), beside(base, ".draft.json")
    out["reading"] = beside(base, ".read.json")
    out["read"] = run("read", piece_path, "--json", out["reading"])
    started = time.monotonic()
    out["voice"] = run("voice", piece_path, "--band", band, "--out", out["draft"],
                       "--json", out["json"], "--force")
    out["seconds"] = time.monotonic() - started
    again, again_json = beside(base, ".again.mid"), beside(base, ".again.json")
    out["again"] = run("voice", piece_path, "--band", band, "--out", again,
                       "--json", again_json, "--force")
    out["same"] = (out["draft"].is_file() and again.is_file()
                   and out["draft"].read_bytes() == again.read_bytes()
                   and out["json"].is_file() and again_json.is_file()
                   and neutral(out["json"], out["draft"]) == neutral(again_json, again))
    out["review"] = run("review", out["draft"], "--band", band, "--sketch", piece_path)
    return out


def beside(base, ending):
    """A file beside another; the base name may hold dots of its own."""
    return base.with_name(base.name + ending)


def neutral(json_path, draft_path):
    """The JSON's text with the name of its own draft file taken out."""
    return json_path.read_text().replace(draft_path.name, "DRAFT")


def check_piece(tally, run, piece, ran):
    place = ran["place"]
    for command, allowed in (("read", {0}), ("voice", {0}), ("review", {0, 1})):
        done = ran[command]
        tally.check(f"`{command}` runs", place,
                    done.returncode in allowed and "panicked" not in done.stderr,
                    f"status {done.returncode}: {done.stderr.strip()[-300:]}")
    reading, result = load(ran["reading"]), load(ran["json"])
    if reading is None or result is None or not ran["draft"].is_file():
        tally.check("the run left its files", place, False, "no JSON or no draft")
        return 0
    tally.check("the same bytes again", place, ran["same"], "two runs differ")
    notes = check_draft(tally, place, ran["sketch"], ran["draft"], result, run)
    played = {k for p in result["draft"]["parts"] for k in keyed(p["notes"])}
    for line in ("melody", "bass"):
        wanted = keyed(reading["lines"][line])
        tally.check(f"every {line} onset played", place, wanted and wanted <= played,
                    short(wanted - played))
    if piece is not None and piece.soprano:
        for name, voice in (("soprano", piece.soprano), ("bass", piece.bass)):
            wanted = {(n.onset, n.pitch % 12) for n in voice}
            tally.check(f"every {name} onset of the score played", place, wanted <= played,
                        short(wanted - played))
    return notes


# ---------------------------------------------------------------- reading, beside the baseline

def plain_line(notes, top):
    """The baseline: a note is in the line if none sounding at its onset lies further out."""
    out = set()
    for n in notes:
        there = [m.pitch for m in notes if m.onset <= n.onset < m.end]
        if n.pitch == (max(there) if top else min(there)):
            out.add((n.onset, n.pitch))
    return out


def f1(found, true):
    hit = len(found & true)
    return 2 * hit / (len(found) + len(true)) if found or true else 1.0


def read_one_track(run, folder, piece):
    path = folder / f"{piece.name}.one.mid"
    write_one_track(piece, path)
    target = folder / f"{piece.name}.one.json"
    done = run("read", path, "--json", target)
    return piece, done, load(target)


def reading_table(tally, run, folder, pieces, pool):
    sums = collections.defaultdict(list)
    for piece, done, reading in pool.map(lambda p: read_one_track(run, folder, p), pieces):
        ok = done.returncode == 0 and reading is not None
        if not tally.check("`read` of one track runs", piece.name, ok, done.stderr[-300:]):
            continue
        notes = tidy([n for h in piece.hands for n in h])
        for line, voice, top in (("melody", piece.soprano, True), ("bass", piece.bass, False)):
            true = {(n.onset, n.pitch) for n in voice}
            found = {(n["onset"], n["pitch"]) for n in reading["lines"][line]}
            sums[line].append(f1(found, true))
            sums[line, "plain"].append(f1(plain_line(notes, top), true))
    mean = lambda rows: sum(rows) / len(rows) if rows else 0.0
    print("\nReading chorales merged to one track (mean F1 of onset and pitch)")
    print(f"  {'line':8} {'read':>7} {'plain':>7}   plain: the highest or lowest sounding note")
    for line in ("melody", "bass"):
        print(f"  {line:8} {mean(sums[line]):7.4f} {mean(sums[line, 'plain']):7.4f}")


# ---------------------------------------------------------------- locks

def make_lock(piece, result, which):
    """Notes for one or two parts in two to four bars, altered from a draft."""
    ranges = {p["name"]: p for p in result["band"]["parts"]}
    first, count = 3, 2 + which % 3
    start, end = bar_start(piece, first), bar_start(piece, first + count)
    locks = {}
    playing = [p for p in result["draft"]["parts"]
               if sum(start <= n["onset"] < end for n in p["notes"]) >= 4]
    if not playing:
        return None
    chosen = [playing[which % len(playing)]]
    if which % 2 and len(playing) > 1:
        chosen.append(playing[(which + len(playing) // 2) % len(playing)])
    for order, part in enumerate({p["name"]: p for p in chosen}.values()):
        limits = ranges[part["name"]]
        rows = []
        inside = [n for n in part["notes"] if start <= n["onset"] < end]
        for i, n in enumerate(sorted(inside, key=lambda n: n["onset"])):
            pitch = n["pitch"]
            if order == 0 and i == 1:
                pitch = limits["highest"] + 3
            elif i % 3 == 0:
                pitch = pitch + 12 if pitch + 12 <= limits["highest"] else pitch - 12
            elif i % 3 == 2:
                pitch += 1 if pitch < limits["highest"] else -1
            pitch = min(127, max(0, pitch))
            stop = min(n["onset"] + n["duration"], end)
            rows.append((n["onset"], stop, pitch, 90 + i % 20))
        locks[part["name"]] = rows
    return locks, start, end, chosen[0]["name"]


def check_locks(tally, run, folder, rows):
    for which, (piece, ran) in enumerate(rows):
        place = f"{piece.name} with locks ({ran['band']})"
        result = load(ran["json"])
        made = make_lock(piece, result, which) if result else None
        if made is None:
            tally.check("a lock can be made", place, False, "no draft, or too few notes")
            continue
        locks, start, end, loud = made
        path = folder / f"{piece.name}.locks.mid"
        mid = start_file(piece)
        for channel, (name, notes) in enumerate(locks.items()):
            write_track(mid, name, notes, channel)
        mid.save(path)
        draft, target = folder / f"{piece.name}.locked.mid", folder / f"{piece.name}.locked.json"
        done = run("voice", ran["sketch"], "--band", ran["band"], "--locks", path, "--out", draft,
                   "--json", target, "--force")
        ok = done.returncode == 0 and "panicked" not in done.stderr
        tally.check("`voice --locks` runs", place, ok,
                    f"status {done.returncode}: {done.stderr.strip()[-300:]}")
        after = load(target)
        if after is None or not draft.is_file():
            tally.check("the run left its files", place, False, "no JSON or no draft")
            continue
        # A lock fixes every bar in which one of its notes sounds.
        for name, notes in locks.items():
            bars = [(bar_start(piece, b), bar_start(piece, b + 1)) for b in range(3, 8)]
            held = [(s, e) for s, e in bars if any(n[0] < e and n[1] > s for n in notes)]
            part = next((p for p in after["draft"]["parts"] if p["name"] == name), {"notes": []})
            got = sorted((n["onset"], n["onset"] + n["duration"], n["pitch"], n["velocity"])
                         for n in part["notes"]
                         if any(n["onset"] < e and n["onset"] + n["duration"] > s
                                for s, e in held))
            tally.check("locked notes come out untouched", f"{place}, {name}",
                        got == sorted(notes), f"wanted {short(notes)}, got {short(got)}")
        check_draft(tally, place, ran["sketch"], draft, after, run, locked_free=True)
        words = ("range", "outside", "above", "below", "too high", "highest", "limit", "reach")
        said = [json.dumps(f).lower() for f in after.get("findings", [])]
        told = any(loud.lower() in s and any(w in s for w in words) for s in said)
        tally.check("a finding names the locked note outside the range", f"{place}, {loud}", told,
                    f"{len(said)} findings: {said[:2]}")
        seen = run("review", draft, "--band", ran["band"], "--sketch", ran["sketch"])
        text = (seen.stdout + seen.stderr).lower()
        tally.check("`review` names the part of that note", f"{place}, {loud}",
                    seen.returncode in (0, 1) and loud.lower() in text, text[-200:])


# ---------------------------------------------------------------- bad inputs

def bad_inputs(tally, run, folder, good):
    room = folder / "bad"
    shutil.rmtree(room, ignore_errors=True)
    room.mkdir(parents=True)
    data = pathlib.Path(good).read_bytes()
    (room / "empty.mid").write_bytes(b"")
    (room / "cut-in-the-head.mid").write_bytes(data[:10])
    (room / "cut-in-a-track.mid").write_bytes(data[: len(data) * 2 // 3])
    (room / "not-midi.mid").write_text("This is a letter, not music.\n" * 20)
    (room / "folder.mid").mkdir()
    blank = Piece("blank", [], [(0, 500_000)], [(0, (4, 4))], [(0, (0, False))])
    start_file(blank).save(room / "no-notes.mid")
    drums = start_file(blank)
    write_track(drums, "Drums", [(i * TPQ, i * TPQ + 240, 38) for i in range(16)], 9)
    drums.save(room / "only-drums.mid")
    one = start_file(blank)
    write_track(one, "Piano", [(0, TPQ * 4, 60)], 0)
    one.save(room / "one-note.mid")

    def voice(source, out, *more, **kw):
        return run("voice", source, "--band", "thin", "--out", out, *more, **kw)

    def refused(place, done, *targets):
        left = [str(t) for t in targets if os.path.exists(t)]
        ok = (done.returncode == 2 and done.stderr.strip() and "panicked" not in done.stderr
              and not left)
        tally.check("bad input is refused", place, ok,
                    f"status {done.returncode}, left {left}: {done.stderr.strip()[-300:]}")

    for name in ("empty", "cut-in-the-head", "not-midi", "folder", "no-notes", "only-drums",
                 "missing"):
        out, target = room / f"{name}.out.mid", room / f"{name}.out.json"
        refused(name, voice(room / f"{name}.mid", out, "--json", target), out, target)
    out, target = room / "cut.out.mid", room / "cut.json"
    cut = room / "cut-in-a-track.mid"
    done = voice(cut, out)
    if done.returncode == 0:  # usable: then it must say what is wrong
        run("read", cut, "--json", target)
        warned = (load(target) or {}).get("warnings")
        tally.check("a cut track is used only with a warning", "cut-in-a-track", warned, "silence")
    else:
        refused("cut-in-a-track", done, out)
    out = room / "one-note.out.mid"
    done = voice(room / "one-note.mid", out)
    tally.check("one note is enough", "one-note",
                done.returncode == 0 and out.is_file() and "panicked" not in done.stderr,
                f"status {done.returncode}: {done.stderr.strip()[-300:]}")
    same = room / "same.mid"
    same.write_bytes(data)
    done = voice(same, same, "--force")
    refused("output equals input", done)
    tally.check("the input is left as it was", "output equals input", same.read_bytes() == data)
    out = room / "no-such-folder" / "out.mid"
    refused("output in a folder that does not exist", voice(good, out), out, out.parent)
    existing = room / "existing.mid"
    existing.write_bytes(b"mine")
    done = voice(good, existing)
    refused("output exists and no --force", done)
    tally.check("a file that exists is kept", "no --force", existing.read_bytes() == b"mine")
    if os.path.exists("/dev/full"):
        done = voice(good, room / "full.mid", "--json", "/dev/full", "--force")
        refused("full device", done)
        tally.check("the device is still a device", "full device",
                    stat.S_ISCHR(os.stat("/dev/full").st_mode))
    unknown = room / "unknown.mid"
    refused("a band nobody knows",
            run("voice", good, "--band", "no-such-band", "--out", unknown), unknown)

    shut = room / "shut"
    shut.mkdir()
    shut.chmod(0o555)
    out = shut / "out.mid"
    if os.geteuid() != 0:
        refused("no permission", voice(good, out), out)
    else:
        print("no permission: not checked as root", flush=True)
    shut.chmod(0o755)
    temporary = [p.name for p in room.rglob("*") if p.name.endswith((".tmp", ".part"))
                 or p.name.startswith((".tmp", ".out"))]
    tally.check("no temporary file left", "bad inputs", not temporary, temporary)


# ---------------------------------------------------------------- the checker's own parts

def self_test(pieces, folder):
    """The checker's own arithmetic, on music small enough to see through."""
    notes = [Note(0, 4, 60), Note(0, 2, 64), Note(2, 4, 65)]
    assert slices(notes) == [(0, 2, {0, 4}), (2, 4, {0, 5})], slices(notes)
    assert not foreign([("x", 0, 4, 72)], slices(notes))
    assert foreign([("x", 0, 4, 64)], slices(notes))
    assert foreign([("x", 3, 5, 60)], slices(notes))
    broken = {"figures": [{
        "kind": "alberti",
        "notes": [{"onset": 0, "pitch": 60}, {"onset": 0, "pitch": 64}],
        "harmony": [{"onset": 0, "duration": 4, "pitches": [60, 64]}],
    }]}
    held, untrue = figure_harmony(broken, notes)
    assert not untrue and not foreign([("x", 0, 4, 64)], slices(notes + held)), untrue
    broken["figures"][0]["harmony"][0]["pitches"] = [60, 67]
    assert figure_harmony(broken, notes)[1]
    broken["figures"][0]["kind"] = "oom_pah"
    assert figure_harmony(broken, notes) == ([], [])
    assert tidy([Note(0, 4, 60), Note(0, 2, 60)]) == [Note(0, 4, 60)]
    assert tidy([Note(0, 4, 60), Note(2, 3, 60)]) == [Note(0, 2, 60), Note(2, 4, 60)]
    assert plain_line(notes, True) == {(0, 64), (2, 65)}
    assert f1({(0, 1)}, {(0, 1)}) == 1.0
    remarks.self_test()
    mid = mido.MidiFile(type=1, ticks_per_beat=TPQ)
    write_track(mid, "t", [(0, 10, 60, 70), (10, 20, 60, 70)], 0)
    track = ReadTrack(mid.tracks[0])
    assert [n[:4] for n in track.notes] == [(0, 10, 60, 70), (10, 20, 60, 70)], track.notes
    track.pedal = [(5, 0, True), (15, 0, False)]
    assert pedalled(track) == [Note(0, 10, 60), Note(10, 20, 60)], pedalled(track)
    track.pedal = [(15, 0, True), (30, 0, False)]
    assert pedalled(track)[1] == Note(10, 30, 60), pedalled(track)
    for piece in pieces:
        path = folder / f"{piece.name}.mid"
        _, tracks = read_midi(path)
        hands = [t for t in tracks if t.notes]
        assert len(hands) == len(piece.hands), piece.name
        for track, hand in zip(hands, piece.hands):
            assert [Note(*n[:3]) for n in track.notes] == hand, piece.name
            assert not track.hanging and not track.stray, piece.name
        cut = slices([n for t in hands for n in pedalled(t)])
        assert not foreign([("x", *n) for h in piece.hands for n in h], cut), piece.name
        if piece.soprano:
            every = {(n.onset, n.pitch) for h in piece.hands for n in h}
            assert {(n.onset, n.pitch) for n in piece.soprano} <= every, piece.name
    print(f"the checker's own parts hold on {len(pieces)} pieces", flush=True)


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--program", type=pathlib.Path,
                     default=ROOT / "target" / "release" / "bandwright")
    ask.add_argument("--work", type=pathlib.Path, default=ROOT / "target" / "ci" / "outside")
    ask.add_argument("--chorales", type=int, default=25)
    ask.add_argument("--self-test", action="store_true", help="only the checker's own parts")
    args = ask.parse_args()
    args.work.mkdir(parents=True, exist_ok=True)
    sung, rest = chorales(args.chorales), others()
    for piece in sung + rest:
        write_sketch(piece, args.work / f"{piece.name}.mid")
    self_test(sung + rest, args.work)
    if args.self_test:
        return 0

    run, tally = Runner(args.program.resolve(), args.work), Tally()
    jobs = [(p, args.work / f"{p.name}.mid", p.name, BANDS[i % 3]) for i, p in enumerate(sung)]
    jobs += [(p, args.work / f"{p.name}.mid", p.name, b) for p in rest for b in BANDS]
    demo = ROOT / "assets" / "demo" / "harvest-lights.mid"
    jobs += [(None, demo, "harvest-lights", b) for b in BANDS]
    table, ran_all = [], []
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        waiting = [pool.submit(run_piece, run, args.work, *job[1:]) for job in jobs]
        for (piece, _, name, band), future in zip(jobs, waiting):
            ran = future.result()
            before = tally.failed
            notes = check_piece(tally, run, piece, ran)
            table.append((name, band, notes, ran["seconds"], tally.failed - before))
            ran_all.append((piece, ran))
        reading_table(tally, run, args.work, sung, pool)
    locked = ran_all[: min(5, len(sung))]
    check_locks(tally, run, args.work, locked)
    bad_inputs(tally, run, args.work, args.work / f"{sung[0].name}.mid")

    print("\nPieces")
    print(f"  {'piece':34} {'band':16} {'notes':>7} {'seconds':>8} {'fails':>6}")
    for name, band, notes, seconds, fails in table:
        print(f"  {name:34} {band:16} {notes:7} {seconds:8.2f} {fails:6}")
    answers = [load(ran["json"]) for _, ran in ran_all]
    gaps = sorted(answer["gap"] for answer in answers if answer is not None)
    median, worst = gaps[len(gaps) // 2], gaps[-1]
    print(f"  gap between cost and bound: median {100 * median:.2f} %, worst {100 * worst:.2f} %")
    tally.check("the gap is 1 % at most in the median", "all", median <= 0.01, median)
    tally.check("the gap is 3 % at most at worst", "all", worst <= 0.03, worst)
    total = sum(row[2] for row in table)
    print(f"  {len(table)} drafts of {len({r[0] for r in table})} pieces, {total} notes")
    print("\nChecks")
    for name, (passed, failed) in tally.by_name.items():
        print(f"  {name:52} {passed:6} passed {failed:6} failed")
    print(f"\n{tally.passed} passed, {tally.failed} failed", flush=True)
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
