"""How well music that is played in gets its written times back.

Step-entered pieces are made "played" by a model with a seed, and the program must find onsets,
note values and beats again. The model, for every note:

- noise: its onset is off by a Gaussian with a deviation of 15, 22 or 30 ms;
- rolled chords: one chord of three notes or more in six is rolled, up or down, over up to 40 ms;
- articulation: the key is held for 0.6 to 1.05 of the written length;
- rubato: the speed follows a smooth curve of up to 8 % each way, and slows down by a further 12 %
  into the end of every fourth or eighth bar.

(a) "to the beats": the file's tempo map holds the rubato, so that the file's beats fit but for
noise. (b) "one tempo": the file says 120 a minute throughout and names no meter; all of the
rubato is in the ticks.

Kinds and sizes of the deviations are common practice in the field (timing noise of 10 to 30 ms in
Repp's and Palmer's studies of pianists, from memory); the beat measure is the F-measure of
mir_eval (70 ms; Raffel et al. 2014), reckoned here.
"""

import bisect
import collections
import math
import random

import mido

from common import Row, folder, read

TICKS = 480
NOISES = (0.015, 0.022, 0.030)

Note = collections.namedtuple("Note", "onset length pitch hand")


# ---------------------------------------------------------------- pieces


class Piece:
    """Notes in quarters, bars on multiples of the meter, and a usual speed."""

    def __init__(self, name, notes, meter, speed):
        self.name, self.meter, self.speed = name, meter, speed
        self.notes = tidy(notes)
        self.bar = 4 * meter[0] / meter[1]
        compound = meter[1] >= 8 and meter[0] % 3 == 0
        self.beat = 12 / meter[1] if compound else 1.0
        self.end = max(n.onset + n.length for n in self.notes)


def tidy(notes):
    """No pitch is struck while it sounds; unisons are one note."""
    kept = {}
    for note in sorted(notes, key=lambda n: (n.onset, -n.length)):
        row = kept.setdefault(note.pitch, [])
        if row and row[-1].onset == note.onset:
            continue
        if row and row[-1].onset + row[-1].length > note.onset:
            row[-1] = row[-1]._replace(length=note.onset - row[-1].onset)
        row.append(note)
    return sorted(n for row in kept.values() for n in row)


def of_part(part, hand, shift):
    """Sounding notes; grace notes of no length are left out."""
    notes = []
    for item in part.stripTies().flatten().notes:
        if not item.quarterLength or "ChordSymbol" in item.classes:
            continue
        for pitch in item.pitches:
            onset = float(item.offset + shift)
            notes.append(Note(onset, float(item.quarterLength), pitch.midi, hand))
    return notes


def pickup(part):
    first = part.getElementsByClass("Measure").first()
    if first is None:
        return 0
    return max(0, first.barDuration.quarterLength - first.duration.quarterLength)


def score_piece(name, speed):
    from music21 import corpus

    score = corpus.parse(name)
    shift = pickup(score.parts[0])
    meter = score.recurse().getElementsByClass("TimeSignature").first()
    notes = [n for hand, p in enumerate(score.parts) for n in of_part(p, hand, shift)]
    return Piece(name, notes, (meter.numerator, meter.denominator), speed)


def tune(path, speed, style):
    """A tune with an accompaniment: a triad of the key for each half bar or bar, the one that has
    most of the tune, as block chords, or its bass and then its upper notes on the other beats."""
    from music21 import converter

    score = converter.parse(str(path))
    part = score.parts[0]
    shift = pickup(part)
    signature = part.recurse().getElementsByClass("TimeSignature").first()
    meter = (signature.numerator, signature.denominator)
    notes = of_part(part, 0, shift)
    key = score.analyze("key")
    piece = Piece(path.stem, notes, meter, speed)
    roots = [(key.tonic.pitchClass + step) % 12 for step in (0, 5, 7)]
    third = 4 if key.mode == "major" else 3
    extra = []
    for bar in range(int(math.ceil(piece.end / piece.bar - 1e-6))):
        start = bar * piece.bar
        inside = [n for n in notes if start <= n.onset < start + piece.bar]
        if not inside:
            continue
        if bar == 0 and shift:
            continue

        def fits(root):
            chord = {root, (root + third) % 12, (root + 7) % 12}
            return sum(n.length for n in inside if n.pitch % 12 in chord)

        root = max(roots, key=fits)
        low = 36 + (root - 36) % 12
        upper = sorted(48 + (p - 48) % 12 for p in (root, root + third, root + 7))
        if style == "block":
            extra += [Note(start, piece.bar, p, 1) for p in [low, *upper]]
            continue
        beats = int(round(piece.bar / piece.beat))
        for beat in range(beats):
            at = start + beat * piece.beat
            if piece.beat == 1.5:
                extra.append(Note(at, 0.5, low, 1))
                extra += [Note(at + 1, 0.5, p, 1) for p in upper]
            elif beat % 2 == 0 and not (meter[0] == 3 and beat):
                extra.append(Note(at, 1, low, 1))
            else:
                extra += [Note(at, 1, p, 1) for p in upper]
    return Piece(path.stem, notes + extra, meter, speed)


CHORALES = (353, 358, 363, 369, 374, 380, 387, 393, 399, 405, 411, 420)
TUNES = 15


def pieces(chorales=CHORALES, tunes=TUNES, seed=7):
    from music21.common import getCorpusFilePath

    draw = random.Random(seed)
    found = [score_piece(f"bach/bwv{n}", draw.uniform(62, 88)) for n in chorales]
    found.append(score_piece("mozart/k545/movement1_exposition", 126))
    found.append(score_piece("schumann_clara/polonaise_op1n1", 96))
    names = []
    for book in ("ryansMammoth", "oneills1850"):
        names += sorted((getCorpusFilePath() / book).glob("*.abc"))
    draw.shuffle(names)
    wanted = len(found) + tunes
    for path in names:
        if len(found) == wanted:
            break
        style = "block" if draw.random() < 0.4 else "oom-pah"
        try:
            piece = tune(path, draw.uniform(84, 116), style)
        except Exception:  # a book of many tunes, or one that music21 cannot read
            continue
        if len(piece.notes) > 80 and piece.meter in ((2, 4), (4, 4), (3, 4), (6, 8), (2, 2)):
            if piece.beat == 1.5:
                piece.speed = 1.5 * piece.speed  # quarters a minute of a jig
            found.append(piece)
    return found


# ---------------------------------------------------------------- playing


class Performance:
    """A piece as played: seconds of every beat, and (down, up, note) of every note in seconds."""

    def __init__(self, piece, noise, seed):
        draw = random.Random(seed)
        self.piece = piece
        self.grid = 0.25
        self.times = [draw.uniform(0.0, 1.5)]
        waves = [(draw.uniform(3, 9) * piece.bar, draw.random()) for _ in range(3)]
        deep = draw.uniform(0.04, 0.08)
        phrase = draw.choice((4, 8)) * piece.bar
        for step in range(int(piece.end / self.grid) + 8):
            at = step * self.grid
            curve = sum(math.sin(2 * math.pi * (at / w + p)) for w, p in waves) / 3
            left = phrase - at % phrase
            slow = 0.12 * max(0.0, 1 - left / piece.bar)
            speed = piece.speed * (1 + deep * curve) * (1 - slow)
            self.times.append(self.times[-1] + 60 / speed * self.grid)
        chords = collections.defaultdict(list)
        for note in piece.notes:
            chords[note.onset, note.hand].append(note)
        self.notes = []
        for (_, _), chord in sorted(chords.items()):
            late = {n: 0.0 for n in chord}
            if len(chord) >= 3 and draw.random() < 1 / 6:
                spread = draw.uniform(0, 0.04)
                order = sorted(chord, key=lambda n: n.pitch, reverse=draw.random() < 0.2)
                late = {n: spread * i / (len(order) - 1) for i, n in enumerate(order)}
            for note in chord:
                down = self.seconds(note.onset) + draw.gauss(0, noise) + late[note]
                full = self.seconds(note.onset + note.length) - self.seconds(note.onset)
                self.notes.append([max(0.0, down), full * draw.uniform(0.6, 1.05), note])
        self.velocity = [draw.randint(50, 90) for _ in self.notes]

    def seconds(self, quarters):
        place = quarters / self.grid
        i = min(int(place), len(self.times) - 2)
        return self.times[i] + (place - i) * (self.times[i + 1] - self.times[i])

    def quarters(self, seconds):
        i = min(max(bisect.bisect_right(self.times, seconds) - 1, 0), len(self.times) - 2)
        return self.grid * (i + (seconds - self.times[i]) / (self.times[i + 1] - self.times[i]))

    def beats(self):
        count = int(self.piece.end / self.piece.beat + 1e-6)
        return [self.seconds(i * self.piece.beat) for i in range(count + 1)]


def write(path, shown, to_tick, tempos, meter):
    """Writes a performance, a track a hand; gives the notes as (tick, pitch) -> written note."""
    truth, tracks = {}, collections.defaultdict(list)
    by_pitch = collections.defaultdict(list)
    for (down, held, note), velocity in zip(shown.notes, shown.velocity):
        by_pitch[note.pitch].append([to_tick(down), to_tick(down + held), note, velocity])
    for pitch, row in by_pitch.items():
        row.sort(key=lambda r: r[2].onset)
        for one, two in zip(row, row[1:]):
            two[0] = max(two[0], one[0] + 2)
            one[1] = min(one[1], two[0])
        for on, off, note, velocity in row:
            truth[on, pitch] = note
            off = max(off, on + 1)
            tracks[note.hand] += [(off, 0, pitch, 0), (on, 1, pitch, velocity)]
    mid = mido.MidiFile(type=1, ticks_per_beat=TICKS)
    head = mido.MidiTrack()
    if meter:
        head.append(mido.MetaMessage("time_signature", numerator=meter[0], denominator=meter[1]))
    now = 0
    for at, micros in tempos:
        head.append(mido.MetaMessage("set_tempo", tempo=micros, time=at - now))
        now = at
    mid.tracks.append(head)
    for hand in sorted(tracks):
        track, now = mido.MidiTrack(), 0
        for at, on, pitch, velocity in sorted(tracks[hand]):
            kind = "note_on" if on else "note_off"
            track.append(
                mido.Message(kind, channel=hand % 9, note=pitch, velocity=velocity, time=at - now)
            )
            now = at
        mid.tracks.append(track)
    mid.save(path)
    return truth


def to_the_beats(path, shown):
    step = int(shown.grid * TICKS)
    tempos = [
        (i * step, round((b - a) / shown.grid * 1e6))
        for i, (a, b) in enumerate(zip(shown.times, shown.times[1:]))
    ]
    to_tick = lambda s: max(0, round(shown.quarters(s) * TICKS))
    return write(path, shown, to_tick, tempos, shown.piece.meter)


def one_tempo(path, shown, meter=None):
    to_tick = lambda s: max(0, round(s * 2 * TICKS))
    return write(path, shown, to_tick, [(0, 500_000)], meter)


# ---------------------------------------------------------------- scores


def shares(answer, truth, free_shift):
    """Share of notes with the right onset and with the right length, and those of plain rounding
    to sixteenths of the file's grid. Onsets may all be later by any number of `free_shift`."""
    timing = answer["timing"]
    per_quarter = timing["written_ticks_per_quarter"]
    pairs = []
    for notes in answer["lines"].values():
        for n in notes:
            note = truth.get((n["onset"], n["pitch"]))
            if note is None:
                raise RuntimeError(f"a note that was not played: {n}")
            onset = n.get("written_onset", n["onset"]) / per_quarter
            length = n.get("written_duration", n["duration"]) / per_quarter
            plain = round(4 * n["onset"] / TICKS) / 4
            value = max(1, round(4 * n["duration"] / TICKS)) / 4
            pairs.append((note, onset, length, plain, value))
    if len(pairs) != len(truth):
        raise RuntimeError(f"{len(truth) - len(pairs)} notes are lost")

    def right(which):
        off = collections.Counter(round(48 * (p[which] - p[0].onset)) for p in pairs)
        whole = round(48 * free_shift)
        shift = max((o for o in off if o % whole == 0), key=off.get, default=0) if whole else 0
        return sum(c for o, c in off.items() if abs(o - shift) <= 1) / len(pairs)

    def value(which):
        return sum(abs(p[which] - p[0].length) < 0.03 for p in pairs) / len(pairs)

    return right(1), value(2), right(3), value(4)


def found_beats(answer, beat):
    """Seconds of the written beats over the music, set beside the notes as they were played."""
    timing = answer["timing"]
    if timing["taken"] != "quantised":
        return []
    per_quarter = timing["written_ticks_per_quarter"]
    tempos = [(t["written_tick"], t["micros_per_quarter"]) for t in timing["written_tempo"]]
    starts, now = [], 0.0
    for i, (tick, _) in enumerate(tempos):
        if i:
            now += (tick - tempos[i - 1][0]) / per_quarter * tempos[i - 1][1] / 1e6
        starts.append(now)

    def seconds(tick):
        i = max(0, bisect.bisect_right([t for t, _ in tempos], tick) - 1)
        return starts[i] + (tick - tempos[i][0]) / per_quarter * tempos[i][1] / 1e6

    notes = [n for notes in answer["lines"].values() for n in notes]
    off = sorted(n["onset"] / (2 * TICKS) - seconds(n["written_onset"]) for n in notes)
    shift = off[len(off) // 2]
    last = max(n["written_onset"] + n["written_duration"] for n in notes)
    first = min(n["written_onset"] for n in notes)
    step = round(beat * per_quarter)
    return [shift + seconds(t) for t in range(first // step * step, last + 1, step)]


def beat_f1(found, true, within=0.07):
    i = j = hits = 0
    while i < len(found) and j < len(true):
        if abs(found[i] - true[j]) <= within:
            hits, i, j = hits + 1, i + 1, j + 1
        elif found[i] < true[j]:
            i += 1
        else:
            j += 1
    return 2 * hits / (len(found) + len(true)) if found or true else 0.0


FLOORS = {
    ("written onsets", "29 pieces, to the beats, 15 ms"): 0.992,
    ("note values", "29 pieces, to the beats, 15 ms"): 0.980,
    ("written onsets", "29 pieces, one tempo, 15 ms"): 0.992,
    ("note values", "29 pieces, one tempo, 15 ms"): 0.979,
    ("beat F1", "29 pieces, one tempo, 15 ms"): 0.981,
    ("written onsets", "29 pieces, to the beats, 22 ms"): 0.986,
    ("note values", "29 pieces, to the beats, 22 ms"): 0.971,
    ("written onsets", "29 pieces, one tempo, 22 ms"): 0.949,
    ("note values", "29 pieces, one tempo, 22 ms"): 0.932,
    ("beat F1", "29 pieces, one tempo, 22 ms"): 0.943,
    ("written onsets", "29 pieces, to the beats, 30 ms"): 0.976,
    ("note values", "29 pieces, to the beats, 30 ms"): 0.955,
    ("written onsets", "29 pieces, one tempo, 30 ms"): 0.913,
    ("note values", "29 pieces, one tempo, 30 ms"): 0.895,
    ("beat F1", "29 pieces, one tempo, 30 ms"): 0.957,
}


def measure(program, place, piece, noise, seed):
    shown = Performance(piece, noise, seed)
    path = place / f"{seed}.mid"
    truth = to_the_beats(path, shown)
    a = shares(read(program, path), truth, 0)
    truth = one_tempo(path, shown)
    answer = read(program, path)
    b = shares(answer, truth, piece.beat)
    beats = beat_f1(found_beats(answer, piece.beat), shown.beats())
    return a, b, beats


def rows(program, work, detail=None):
    place = folder(work, "played")
    found = []
    chosen = pieces()
    for noise in NOISES:
        results = [
            measure(program, place, piece, noise, 1000 * i + round(1000 * noise))
            for i, piece in enumerate(chosen)
        ]
        if detail:
            for piece, (a, b, beats) in zip(chosen, results):
                text = " ".join(f"{x:.3f}" for x in (*a, *b, beats))
                detail(f"{noise:.3f} {piece.name:40} {piece.meter} {piece.speed:5.1f} {text}")
        mean = lambda f: sum(f(r) for r in results) / len(results)
        ms = f"{round(1000 * noise)} ms"
        on = f"{len(chosen)} pieces, to the beats, {ms}"
        flat = f"{len(chosen)} pieces, one tempo, {ms}"
        for measure_name, pieces_name, ours, theirs in (
            ("written onsets", on, mean(lambda r: r[0][0]), mean(lambda r: r[0][2])),
            ("note values", on, mean(lambda r: r[0][1]), mean(lambda r: r[0][3])),
            ("written onsets", flat, mean(lambda r: r[1][0]), mean(lambda r: r[1][2])),
            ("note values", flat, mean(lambda r: r[1][1]), mean(lambda r: r[1][3])),
            ("beat F1", flat, mean(lambda r: r[2]), None),
        ):
            floor = FLOORS.get((measure_name, pieces_name), 0.0)
            baseline = "nearest 1/16" if theirs is not None else ""
            found.append(Row(measure_name, pieces_name, ours, floor, baseline, theirs))
    return found
