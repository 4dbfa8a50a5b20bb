#!/usr/bin/env python3
"""What leaves as MusicXML and MIDI, read by other programs.

The program voices the demo with every band that comes along, and sketches from the music21 corpus, and writes
score, single parts and draft. Each is
  - checked against the schema of MusicXML 4.0, offline;
  - read by music21: the same notes as in the program's own JSON (onset, length, sounding pitch), written pitches
    as each instrument transposes, key signatures, meters, tempos, bar numbers, whole bars, names and order of parts;
  - loaded by verovio with an empty log, whose own MIDI has the same onsets and pitches;
  - and every MIDI file is read by mido: the same notes as in the JSON, the same tempos and meters.
Nothing here shares code with the program: transpositions of keys are worked out anew.

Notes that were not entered in steps stand in the file where they are written, and tell by `attack` and `release` how
far they are from there, which music21 and verovio pass over. Parts with such notes are held against the JSON note by
note within a 16th; that they are exact with both is for the program's own tests.

Sources
  Schema: PyPI `musicxml==1.6.3`, file `musicxml_4_0.xsd` (W3C Community Final Specification Agreement).
  Enharmonic keys: more than six signs give way to the key with fewer (common practice, no source).

Packages: music21==10.5.1 mido==1.3.3 musicxml==1.6.3 xmlschema==4.3.2 verovio==6.4.1

Usage: musicxml_checks.py [--program target/release/bandwright] [--work target/ci/musicxml] [--self-test]
"""

import argparse
import base64
import collections
import concurrent.futures
import io
import json
import os
import pathlib
import re
import subprocess
import sys
import time
import tomllib
import warnings
import zipfile
import xml.etree.ElementTree as ElementTree
from fractions import Fraction

import mido

import outside_checks as outside

ROOT = pathlib.Path(__file__).resolve().parent.parent
TIMEOUT = 120
PROCESSES = 2
MOST_QUARTERS = 96  # of each piece
BANDS = sorted(p.stem for p in (ROOT / "presets" / "bands").glob("*.toml"))
# Each with one band; chosen for meters, pickups, keys and many voices, before any was written.
PIECES = [
    ("mozart/k545/movement1_exposition", "concert"),
    ("schumann_clara/polonaise_op1n1", "thin"),
    ("verdi/laDonnaEMobile", "medium-marching"),
    ("liliuokalani/aloha_oe", "large-marching"),
    ("johnson_j_r/lift_every_voice", "small-marching"),
    ("bach/bwv366", "concert"),
    ("bach/bwv371", "medium-marching"),
]
SKETCH = "Piano Sketch"


def instruments():
    rows = tomllib.loads((ROOT / "presets" / "instruments.toml").read_text())["instrument"]
    return {row["id"]: row for row in rows}


# ---------------------------------------------------------------- what the program says

class Told:
    """What the program's JSON says of a draft, in ticks."""

    def __init__(self, draft, reading, midi, table):
        self.tpq = draft["draft"]["ticks_per_quarter"]
        self.parts = []
        for about, line in zip(draft["band"]["parts"], draft["draft"]["parts"]):
            notes = sorted((n["onset"], n["duration"], n["pitch"]) for n in line["notes"])
            self.parts.append((line["name"], about["instrument"], about["transposition"], notes))
        self.families = [table[p[1]]["family"] for p in self.parts]
        self.meters = [(m["tick"], m["numerator"], m["denominator"]) for m in reading["meters"]]
        self.keys = [(k["tick"], k["fifths"]) for k in reading["keys"]]
        self.tempos = [(t["tick"], t["micros_per_quarter"]) for t in reading["tempo"]]
        # The sketch's own tracks of the draft: what is neither a part nor percussion.
        names = {p[0] for p in self.parts}
        own = [n for t in midi if t.name not in names for n in t.notes]
        self.sketch = sorted((on, end - on, pitch) for on, end, pitch, _, channel in own if channel != 9)
        self.drums = sorted((on, end - on, pitch) for on, end, pitch, _, channel in own if channel == 9)

    def order(self):
        """Names from top to bottom: woodwinds, sketch, brass and strings, percussion."""
        region = {"woodwind": 0, "brass": 2, "string": 2, "percussion": 3, "electronic": 3}
        rows = [(region[f], i, p[0]) for i, (f, p) in enumerate(zip(self.families, self.parts))]
        return [name for _, _, name in sorted(rows + [(1, 0, SKETCH)])]

    def bar_lines(self, end):
        """Ticks of the bar lines; a meter inside a bar begins a bar of its own."""
        lines, changes = [], self.meters + [(None, 1, 1)]
        for (at, top, bottom), (following, _, _) in zip(changes, changes[1:]):
            tick = at
            while tick < (end if following is None else following):
                lines.append(tick)
                tick += self.tpq * 4 * top // bottom
        return lines + [tick]

    def written_keys(self, transposition, lines):
        """Signatures of a part, from the first bar on in which each holds."""
        out = []
        for line in lines[:-1]:
            fifths = [f for at, f in self.keys if at <= line][-1:] or [0]
            moved = places(-transposition, fifths[0]) + fifths[0]
            if not out or out[-1][1] != moved:
                out.append((line, moved))
        return out


def places(up, fifths):
    """By how many fifths a part's key lies above the concert key."""
    own = (7 * up + 5) % 12 - 5
    if abs(own + fifths) <= 6:
        return own
    return min([own, own - 12, own + 12], key=lambda p: abs(p + fifths))


# ---------------------------------------------------------------- other readers

def schema():
    import musicxml
    import xmlschema
    at = lambda module, *path: os.path.join(os.path.dirname(module.__file__), *path)
    return xmlschema.XMLSchema(
        at(musicxml, "generate_classes", "musicxml_4_0.xsd"), allow="local", locations={
            "http://www.w3.org/1999/xlink": at(xmlschema, "schemas", "XLINK", "xlink.xsd"),
            "http://www.w3.org/XML/1998/namespace": at(xmlschema, "schemas", "XML", "xml.xsd")})


def performed(path):
    """By part and place in the file: how many divisions notes begin and end beside what is written."""
    off = collections.Counter()
    for part in ElementTree.parse(path).getroot().iter("part"):
        for note in part.iter("note"):
            off[part.get("id")] += "attack" in note.attrib or "release" in note.attrib
    return off


def beams_over_tuplets(path):
    """Whether a beam begins inside a tuplet and ends outside, or the other way round."""
    for part in ElementTree.parse(path).getroot().iter("part"):
        begun = {}
        for note in part.iter("note"):
            if note.find("chord") is not None:
                continue
            inside, voice = note.find("time-modification") is not None, note.findtext("voice")
            words = [b.text for b in note.iter("beam") if b.get("number") == "1"]
            if words == ["begin"]:
                begun[voice] = {inside}
            elif words:
                begun[voice].add(inside)
                if len(begun[voice]) > 1:
                    return True
    return False


def ticks(quarters, tpq):
    return Fraction(quarters).limit_denominator(10080) * tpq


class Read:
    """A score as music21 reads it; times in ticks."""

    def __init__(self, path, tpq):
        from music21 import chord, converter, note

        score = converter.parse(path, forceSource=True)
        at = lambda item: ticks(item.getOffsetInHierarchy(score), tpq)
        self.parts = []
        self.tempos = sorted(
            (at(m), m.getQuarterBPM()) for m in score.recurse().getElementsByClass("MetronomeMark"))
        for part in score.parts:
            row = collections.namedtuple("Row", "name sounding written keys meters bars ties")(
                part.partName, [], [], [], [], [], [0, 0])
            for measure in part.getElementsByClass("Measure"):
                full = ticks(measure.highestTime, tpq)
                row.bars.append((measure.number, at(measure), full))
                instrument = measure.getElementsByClass("Instrument").first()
            for item in part.recurse():
                if isinstance(item, (note.Note, chord.Chord)):
                    for n in (item.notes if isinstance(item, chord.Chord) else [item]):
                        if n.tie is not None:
                            row.ties[0] += n.tie.type in ("start", "continue")
                            row.ties[1] += n.tie.type in ("stop", "continue")
                elif "KeySignature" in item.classes:
                    row.keys.append((at(item), item.sharps))
                elif "TimeSignature" in item.classes:
                    row.meters.append((at(item), item.numerator, item.denominator))
            row.written.extend(self.notes(part, at, tpq))
            self.parts.append(row)
        score.toSoundingPitch(inPlace=True)
        for part, row in zip(score.parts, self.parts):
            row.sounding.extend(self.notes(part, at, tpq))

    @staticmethod
    def notes(part, at, tpq):
        """Notes with their ties followed, from a head to the next of its pitch that begins where it ends."""
        from music21 import chord, note

        heads = []
        for item in part.recurse().notes:
            if isinstance(item, (chord.Chord, note.Note)):
                onset, length = at(item), ticks(item.quarterLength, tpq)
                members = item.notes if isinstance(item, chord.Chord) else [item]
                heads += [(onset, length, n.pitch.midi, n.tie.type if n.tie else "") for n in members]
        waiting, out = collections.defaultdict(list), []
        for onset, length, pitch, tie in sorted(heads):
            begun = waiting[onset, pitch] if tie in ("stop", "continue") else []
            first = begun.pop() if begun else onset
            if tie in ("start", "continue"):
                waiting[onset + length, pitch].append(first)
            else:
                out.append((first, onset + length - first, pitch))
        return sorted(out + [(first, end - first, pitch)
                             for (end, pitch), rest in waiting.items() for first in rest])


# ---------------------------------------------------------------- one case

class Case:
    """A sketch voiced for a band, and what was written of it."""

    def __init__(self, name, folder, sketch, band, more=()):
        self.name = name
        self.folder = folder
        self.sketch = sketch
        self.band = band
        self.more = more  # words for `voice` and `read`
        self.found = []  # failures: what, and why
        self.counts = collections.Counter()

    def check(self, what, ok, why=""):
        self.counts[what] += 1
        if not ok:
            self.found.append((what, str(why)[:400]))

    def export(self, program):
        path = lambda name: str(self.folder / name)
        run = lambda *words: subprocess.run(
            [program, *words], check=True, capture_output=True, timeout=TIMEOUT)
        run("voice", self.sketch, *self.more, "--band", self.band, "--out", path("d.mid"), "--json", path("d.json"),
            "--musicxml", path("d.musicxml"), "--single-parts", path("parts"), "--force")
        run("voice", self.sketch, *self.more, "--band", self.band, "--out", path("d.mid"),
            "--musicxml", path("d.mxl"), "--plain", "--force")
        run("read", self.sketch, *self.more, "--json", path("r.json"))

    def told(self, table):
        load = lambda name: json.loads((self.folder / name).read_text())
        _, midi = outside.read_midi(self.folder / "d.mid")
        return Told(load("d.json"), load("r.json"), midi, table)

    def check_all(self, xsd, table, thorough):
        told = self.told(table)
        score = self.folder / "d.musicxml"
        self.check_schema(xsd, score)
        plain = self.unpacked()
        if thorough:
            self.check_schema(xsd, plain)
        self.check_plain(plain)
        self.check_score(score, told)
        self.check_engraver(score, told)
        self.check_midi(self.folder / "d.mid", told, [p[0] for p in told.parts])
        names = told.order()
        names.remove(SKETCH)
        singles = sorted((self.folder / "parts").glob("*.musicxml"))
        self.check("single parts", len(singles) == len(names), f"{len(singles)} files")
        for path, name in zip(singles, names):
            if thorough:
                self.check_schema(xsd, path)
            own = [p for p in told.parts if p[0] == name]
            self.check_midi(path.with_suffix(".mid"), told, [name])
            root = ElementTree.parse(path).getroot()
            self.check("single names", root.findtext(".//part-name") == name, path.name)
            count = sum(1 for n in root.iter("note")
                        if n.find("rest") is None and all(t.get("type") != "stop" for t in n.iter("tie")))
            self.check("single notes", count == len(own[0][3]), f"{name}: {count}")

    def check_schema(self, xsd, path):
        errors = [(e.path, e.reason) for e in xsd.iter_errors(str(path))]
        self.check("schema", not errors, f"{path.name}: {errors[:2]}")

    def unpacked(self):
        """The score of the compressed file, as the list in it says."""
        with zipfile.ZipFile(self.folder / "d.mxl") as archive:
            first = archive.infolist()[0]
            self.check("archive", first.filename == "mimetype" and first.compress_type == 0, first)
            self.check("archive", archive.testzip() is None)
            container = ElementTree.fromstring(archive.read("META-INF/container.xml"))
            name = next(container.iter("rootfile")).get("full-path")
            path = self.folder / "plain.musicxml"
            path.write_bytes(archive.read(name))
        return path

    def check_plain(self, path):
        text = path.read_text()
        self.check("plain", not re.search("<footnote|<level|<bracket", text))

    def check_score(self, path, told):
        read = Read(path, told.tpq)
        names = [p.name for p in read.parts]
        once = [n for i, n in enumerate(names) if i == 0 or names[i - 1] != n or n != SKETCH]
        pitched = [n for n in once if n in {p[0] for p in told.parts} | {SKETCH}]
        self.check("order", pitched == told.order(), once)
        off = performed(path)
        self.counts["notes off the grid"] += sum(off.values())
        lines = told.bar_lines(max([0] + [at + full for p in read.parts for _, at, full in p.bars[-1:]]))
        by_name = {p.name: p for p in read.parts}
        for name, instrument, transposition, notes in told.parts:
            part = by_name.get(name)
            if part is None:
                self.check("order", False, f"{name} is missing")
                continue
            exact = off[f"P{once.index(name) + 1}"] == 0
            alike = (lambda a, b: a == b) if exact else (lambda a, b: near(a, b, told.tpq // 4))
            same = alike(part.sounding, notes)
            self.check("sounding notes", same, f"{name}: {unlike(part.sounding, notes)}")
            written = sorted((a, b, p - transposition) for a, b, p in notes)
            same = alike(part.written, written)
            self.check("written notes", same, f"{name}: {unlike(part.written, written)}")
            self.counts["notes"] += len(notes)
            keys = told.written_keys(transposition, lines)
            changes = [k for i, k in enumerate(part.keys) if i == 0 or part.keys[i - 1][1] != k[1]]
            self.check("keys", changes == keys, f"{name}: {changes} {keys}")
            self.check("ties", part.ties[0] == part.ties[1], f"{name}: {part.ties}")
            self.check("meters", part.meters == self.meters(told, lines), f"{name}: {part.meters}")
            bars = [(i + 1, a, b - a) for i, (a, b) in enumerate(zip(lines, lines[1:]))]
            self.check("bars", part.bars == bars, f"{name}: {unlike(part.bars, bars)}")
        piano = sorted(n for p in read.parts if p.name == SKETCH for n in p.sounding)
        if off[f"P{once.index(SKETCH) + 1}"] == 0:
            self.check("sketch", piano == told.sketch, unlike(piano, told.sketch))
        else:
            self.check("sketch", near(piano, told.sketch, told.tpq // 4), unlike(piano, told.sketch))
        close = len(read.tempos) == len(told.tempos) and all(
            a == at and abs(60e6 / bpm - micros) < 1
            for (a, bpm), (at, micros) in zip(read.tempos, told.tempos))
        # Of a printed tempo music21 takes the number that is printed; the one that is played is looked up here.
        played = [round(60e6 / float(sound.get("tempo")))
                  for sound in ElementTree.parse(path).getroot().iter("sound")]
        self.check("tempos", played == [micros for _, micros in told.tempos], f"{played[:3]}")
        self.check("tempos", close, f"{read.tempos[:3]} {told.tempos[:3]}")

    @staticmethod
    def meters(told, lines):
        out = []
        for at, top, bottom in told.meters:
            if not out or out[-1][1:] != (top, bottom):
                out.append((at, top, bottom))
        return [m for m in out if m[0] < lines[-1]]

    def check_engraver(self, path, told):
        import verovio

        toolkit = verovio.toolkit()
        loaded = toolkit.loadFile(str(path))
        log = toolkit.getLog().strip()
        self.check("engraver loads", loaded and not log, log)
        mid = mido.MidiFile(file=io.BytesIO(base64.b64decode(toolkit.renderToMIDI())))
        heard = set()
        for track in mid.tracks:
            now = 0
            for message in track:
                now += message.time
                if message.type == "note_on" and message.velocity > 0:
                    heard.add((message.note, now / mid.ticks_per_beat))
        wanted = {(pitch, onset / told.tpq)
                  for notes in [p[3] for p in told.parts] + [told.sketch, told.drums]
                  for onset, _, pitch in notes}
        # It may join what two parts strike together, so each moment and pitch is asked for once; and it may be off by a
        # tick of its own, 120 of which are a quarter.
        # A beam that crosses the edge of a tuplet it takes into the tuplet, and plays what follows early; drafts with one
        # are counted, and not compared.
        crossed = beams_over_tuplets(path)
        self.counts["engraver shortens"] += crossed
        if self.counts["notes off the grid"] == 0 and not crossed:
            pairs = list(zip(sorted(heard), sorted(wanted)))
            alike = all(a[0] == b[0] and abs(a[1] - b[1]) < 2.5 / 120 for a, b in pairs)
            self.check("engraver plays", len(heard) == len(wanted) and alike,
                       f"{len(heard)} and {len(wanted)}: {[p for p in pairs if abs(p[0][1] - p[1][1]) >= 2.5 / 120][:3]}")

    def check_midi(self, path, told, names):
        mid, tracks = outside.read_midi(path)
        self.check("midi", mid.ticks_per_beat == told.tpq)
        tracks = {t.name: t for t in tracks}
        for name in names:
            track = tracks.get(name)
            notes = track and sorted((on, end - on, pitch) for on, end, pitch, *_ in track.notes)
            wanted = next(p[3] for p in told.parts if p[0] == name)
            self.check("midi notes", notes == wanted, f"{path.name}, {name}")
        conductor = outside.conductor_events(mid)
        tempos = {(at, micros) for at, micros in told.tempos}
        self.check("midi tempos", conductor["tempo"] in (tempos, set()), path.name)


def near(found, wanted, far):
    """Whether two rows of notes are alike but for so many ticks at beginnings and ends."""
    by_pitch = lambda row: sorted((pitch, onset, length) for onset, length, pitch in row)
    pairs = list(zip(by_pitch(found), by_pitch(wanted)))
    return len(found) == len(wanted) and all(
        a[0] == b[0] and abs(a[1] - b[1]) <= far and abs(a[1] + a[2] - b[1] - b[2]) <= far
        for a, b in pairs)


def unlike(found, wanted):
    """The first of two rows that differ."""
    extra = [x for x in found if x not in wanted][:2]
    missing = [x for x in wanted if x not in found][:2]
    show = lambda row: [tuple(float(v) if isinstance(v, Fraction) else v for v in x) for x in row]
    return f"found {show(extra)}, wanted {show(missing)} ({len(found)} and {len(wanted)})"


# ---------------------------------------------------------------- all cases

def prepare(work):
    """The sketches, each with its bands."""
    from music21 import corpus

    cases = []
    demo = ROOT / "assets" / "demo" / "harvest-lights.mid"
    for band in BANDS:
        cases.append((f"demo for {band}", str(demo), band, ()))
    for name, band in PIECES:
        piece = first_bars(outside.from_score(name.replace("/", "-"), corpus.parse(name), False))
        path = work / f"{piece.name}.mid"
        outside.write_sketch(piece, path)
        cases.append((f"{name} for {band}", str(path), band, ()))
    # Seven sharps for B flat instruments, and drums in the sketch.
    path = work / "hard-keys.mid"
    hard_keys(path)
    cases.append(("hard keys and drums for concert", str(path), "concert", ()))
    # Notes a little beside the grid, as somebody played them.
    path = work / "played.mid"
    hard_keys(path, [0, 7, -11, 13, -5])
    cases.append(("as played for thin", str(path), "thin", ("--times", "played")))
    return cases


def first_bars(piece):
    """The beginning of a piece, so that all takes less than a minute."""
    end = MOST_QUARTERS * outside.TPQ
    cut = lambda notes: [n._replace(end=min(n.end, end)) for n in notes if n.onset < end]
    early = lambda changes: [c for c in changes if c[0] < end]
    return outside.Piece(piece.name, [cut(h) for h in piece.hands], early(piece.tempos),
                         early(piece.meters), early(piece.keys))


def hard_keys(path, off=(0,)):
    tune = [71, 73, 75, 76, 78, 80, 82, 83]
    late = lambda i: max(0, 480 * i + off[i % len(off)])
    notes = [outside.Note(late(i), late(i + 1) - 20 * (len(off) > 1), p) for i, p in enumerate(tune * 4)]
    bass = [outside.Note(1920 * i, 1920 * (i + 1), 47) for i in range(8)]
    piece = outside.Piece("hard keys", [notes, bass], [(0, 500_000), (4000, 468_750)],
                          [(0, (4, 4)), (7680, (6, 8))], [(0, (5, False)), (7680, (-6, False))])
    mid = outside.start_file(piece)
    mid.ticks_per_beat = 480
    outside.write_track(mid, "Right", notes, 0)
    outside.write_track(mid, "Left", bass, 1)
    outside.write_track(mid, "Kit", [outside.Note(240 * i, 240 * i + 120, 36 + 2 * (i % 2)) for i in range(30)], 9)
    mid.save(path)


def one(args):
    number, name, sketch, band, more, program, work = args
    warnings.simplefilter("ignore")
    folder = work / f"case-{number}"
    folder.mkdir(parents=True, exist_ok=True)
    case = Case(name, folder, sketch, band, more)
    case.export(program)
    # What is in a part or in a plain score is in the score too: those of some drafts are enough.
    case.check_all(SCHEMA.get(), instruments(), number % 4 == 0)
    return case


class Kept:
    """A schema read once in each process."""

    def __init__(self):
        self.held = None

    def get(self):
        self.held = self.held or schema()
        return self.held


SCHEMA = Kept()


def self_test(program, work):
    """Each fault must be found by the check that is meant for it."""
    demo = str(ROOT / "assets" / "demo" / "harvest-lights.mid")
    folder = work / "self-test"
    folder.mkdir(parents=True, exist_ok=True)
    good = Case("self-test", folder, demo, "demo")
    good.export(program)
    path = folder / "d.musicxml"
    text = path.read_text()
    clarinet = text.index('<part id="P3">')
    after = lambda old, new: text[:clarinet] + text[clarinet:].replace(old, new, 1)
    longer = re.compile(r"<duration>(\d+)</duration>\s*<voice>1</voice>\s*<type>quarter")
    cut = longer.search(text, clarinet)
    faults = {
        "wrong duration": (text[:cut.start(1)] + str(2 * int(cut.group(1))) + text[cut.end(1):],
                           {"sounding notes", "bars"}),
        "wrong transposition": (after("<chromatic>-2<", "<chromatic>-3<"), {"sounding notes"}),
        "misspelt element": (text[:clarinet] + text[clarinet:].replace(
            "<duration>", "<duratoin>", 1).replace("</duration>", "</duratoin>", 1), {"schema"}),
        "wrong octave": (after("<octave>4<", "<octave>5<"), {"sounding notes", "written notes"}),
        "lost tie": (text.replace('<tie type="start"/>', "", 1), {"ties", "sounding notes", "sketch"}),
        "wrong key": (after("<fifths>0<", "<fifths>1<"), {"keys"}),
        "wrong meter": (after("<beats>4<", "<beats>3<"), {"meters"}),
        "wrong tempo": (text.replace('tempo="108"', 'tempo="107"', 1), {"tempos"}),
        "parts in another order": (text.replace(">Flute 1<", ">Flute 9<", 1).replace(
            ">Flute 2<", ">Flute 1<", 1).replace(">Flute 9<", ">Flute 2<", 1), {"order"}),
        "remarks in a plain file": (text, {"plain"}),
    }
    told, table, failed = None, instruments(), 0
    told = good.told(table)
    for name, (broken, wanted) in faults.items():
        if name != "remarks in a plain file" and broken == text:
            print(f"self-test: {name} was not made")
            failed += 1
            continue
        bad = folder / "broken.musicxml"
        bad.write_text(broken)
        case = Case(name, folder, demo, "demo")
        case.check_schema(SCHEMA.get(), bad)
        if name == "remarks in a plain file":
            case.check_plain(bad)
        else:
            try:
                case.check_score(bad, told)
            except Exception as error:  # what cannot be read is found too
                case.check("reads", False, error)
        found = {what for what, _ in case.found}
        ok = bool(found & wanted)
        failed += not ok
        print(f"self-test: {name}: {'found by ' + ', '.join(sorted(found)) if ok else 'NOT FOUND'}")
    mid = mido.MidiFile(folder / "d.mid")
    track = mid.tracks[-1]
    note = next(m for m in track if m.type == "note_on")
    note.note += 1
    mid.save(folder / "broken.mid")
    case = Case("midi", folder, demo, "demo")
    case.check_midi(folder / "broken.mid", told, [p[0] for p in told.parts])
    failed += not case.found
    print(f"self-test: wrong MIDI note: {'found' if case.found else 'NOT FOUND'}")
    return failed


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default=str(ROOT / "target" / "release" / "bandwright"))
    parser.add_argument("--work", type=pathlib.Path, default=ROOT / "target" / "ci" / "musicxml")
    parser.add_argument("--self-test", action="store_true")
    options = parser.parse_args()
    began = time.time()
    program = str(pathlib.Path(options.program).resolve())
    options.work.mkdir(parents=True, exist_ok=True)
    warnings.simplefilter("ignore")
    if options.self_test:
        failed = self_test(program, options.work)
        print("self-test: every fault was found" if not failed else f"self-test: {failed} not found")
        return 1 if failed else 0
    cases = [(i, *case, program, options.work) for i, case in enumerate(prepare(options.work))]
    counts, failures = collections.Counter(), 0
    with concurrent.futures.ProcessPoolExecutor(PROCESSES) as pool:
        for case in pool.map(one, cases):
            counts.update(case.counts)
            for what, why in case.found:
                failures += 1
                print(f"FAILED {what}: {case.name}: {why}", flush=True)
    for what in sorted(counts):
        print(f"  {what:<20} {counts[what]}")
    print(f"MusicXML: {len(cases)} drafts, {counts['schema']} files valid by the schema of 4.0, "
          f"{counts['notes']} notes alike in music21, {counts['midi']} MIDI files in mido; "
          f"{failures} failures ({time.time() - began:.0f} s)")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
