"""Piano accompaniments under folk tunes and lead sheets, with the bass known by construction.

Tunes come from music21's corpus (folders named in FOLDERS, seeded sample), lead sheets with their
published chord symbols. The harmoniser for the tunes and the accompaniment patterns are ours
(common practice, no source): each pattern is a few lines, and says which of its notes is bass.
The bass of a broken chord is the note that carries the chord: the first of each turn of the
pattern. Of octaves it is the lower note.
"""

import functools
import random
from pathlib import Path

FOLDERS = ("ryansMammoth", "oneills1850", "airdsAirs", "miscFolk")
SHEETS = ("leadSheet/fosterBrownHair", "nottingham-dataset/reelsa-c")
MOST_BARS = 16
# From where the roots lie upwards; E2 is 40.
PLACES = (36, 41, 38, 33, 43)


class Tune:
    """A melody in bars with a chord for each half bar (each bar in triple time).

    `notes`: (onset, length, pitch) in quarters from the first bar line, pickups below 0.
    `spans`: (start, length, root pitch class, third, fifth above it in semitones).
    """

    def __init__(self, name, meter, notes, spans):
        self.name, self.meter, self.notes, self.spans = name, meter, notes, spans
        self.bar = meter[0] * 4 / meter[1]
        self.beat = 1.5 if meter[1] == 8 else 1.0


def _part_notes(score):
    part = score.parts[0] if score.parts else score
    part = part.stripTies()
    measures = [m for m in part.getElementsByClass("Measure") if m.quarterLength]
    if not measures:
        return None
    meter = part.recurse().getElementsByClass("TimeSignature").first()
    if meter is None:
        return None
    full = meter.barDuration.quarterLength
    pickup = measures[0].duration.quarterLength
    shift = pickup if pickup < full else 0
    notes = []
    for note in part.recurse().notes:
        if note.isNote and note.quarterLength:
            onset = float(note.getOffsetInHierarchy(part)) - float(shift)
            notes.append((onset, float(note.quarterLength), note.pitch.midi))
    return (meter.numerator, meter.denominator), sorted(notes), float(shift)


def _one_at_a_time(notes):
    out = []
    for onset, length, pitch in notes:
        if out and out[-1][0] + out[-1][1] > onset:
            if out[-1][0] >= onset:
                continue
            out[-1] = (out[-1][0], onset - out[-1][0], out[-1][2])
        out.append((onset, length, pitch))
    return out


def _placed(notes):
    """Moved by octaves so that the tune lies about a fifth over middle C and higher."""
    middle = sorted(n[2] for n in notes)[len(notes) // 2]
    up = 12 * round((74 - middle) / 12)
    low = min(n[2] for n in notes) + up
    up += 12 if low < 60 else 0
    return [(a, b, p + up) for a, b, p in notes]


DEGREES = ((0, 0.25), (7, 0.15), (5, 0.1), (2, 0.0), (9, 0.0), (4, -0.1))


def harmonise(notes, tonic, scale, span, end):
    """A triad of the key for each span: the one that most of the tune's time agrees with."""
    spans, start, last = [], 0.0, None
    while start < end - 1e-6:
        stop = min(start + span, end)
        best = None
        for degree, liking in DEGREES:
            if degree not in scale:
                continue
            third = 4 if (degree + 4) % 12 in scale else 3
            fifth = 7 if (degree + 7) % 12 in scale else 6
            if fifth == 6:
                continue
            score = liking * (stop - start) + (0.05 if last == degree else 0)
            if stop >= end - 1e-6:
                score += 9 if degree == 0 else 0
            for onset, length, pitch in notes:
                shared = min(onset + length, stop) - max(onset, start)
                if shared > 0:
                    inside = (pitch - tonic - degree) % 12 in (0, third, fifth)
                    strong = 1.5 if onset <= start + 1e-6 else 1.0
                    score += shared * strong * (1 if inside else -0.6)
            if best is None or score > best[0]:
                best = (score, degree, third, fifth)
        _, degree, third, fifth = best
        spans.append((start, stop - start, (tonic + degree) % 12, third, fifth))
        last, start = degree, stop
    return spans


def _folk(path, number):
    from music21 import converter

    score = converter.parse(path, number=number) if number else converter.parse(path)
    if not hasattr(score, "parts"):
        return None
    found = _part_notes(score)
    if not found:
        return None
    meter, notes, _ = found
    if meter not in ((4, 4), (2, 2), (2, 4), (3, 4), (6, 8), (9, 8), (12, 8)):
        return None
    bar = meter[0] * 4 / meter[1]
    last = max((n[0] + n[1] for n in notes), default=0)
    bars = min(MOST_BARS, int(last / bar + 0.01))
    end = bars * bar
    notes = _one_at_a_time([n for n in notes if n[0] + n[1] <= end + 1e-6])
    if bars < 6 or len(notes) < 24:
        return None
    key = score.analyze("key")
    scale = {(p.pitchClass - key.tonic.pitchClass) % 12 for p in key.pitches}
    if key.mode == "minor":
        scale |= {11}
    span = bar / 2 if meter in ((4, 4), (2, 2), (12, 8)) else bar
    spans = harmonise(notes, key.tonic.pitchClass, scale, span, end)
    return Tune(Path(path).stem + str(number or ""), meter, _placed(notes), spans)


@functools.cache
def tunes(seed, each):
    """A seeded sample: `each` tunes of every folder."""
    import music21

    corpus = Path(music21.__file__).parent / "corpus"
    rng, found = random.Random(seed), []
    for folder in FOLDERS:
        files, taken, tries = sorted((corpus / folder).glob("*.abc")), 0, 0
        while taken < each and tries < 12 * each:
            tries += 1
            path = rng.choice(files)
            text = path.read_text(encoding="utf-8", errors="replace")
            numbers = [
                int(line[2:]) for line in text.splitlines()
                if line.startswith("X:") and line[2:].strip().isdigit()
            ]
            number = rng.choice(numbers) if len(numbers) > 1 else None
            try:
                tune = _folk(str(path), number)
            except Exception:  # a few tunes are beyond music21's own reader
                continue
            if tune is not None:
                found.append(tune)
                taken += 1
    return found


@functools.cache
def sheets():
    """The lead sheets with their published chord symbols."""
    from music21 import corpus, harmony

    found = []
    for name in SHEETS:
        parsed = corpus.parse(name)
        for score in getattr(parsed, "scores", [parsed]) if parsed.isStream else [parsed]:
            read = _part_notes(score)
            if not read:
                continue
            meter, notes, shift = read
            part = score.parts[0]
            marks = [
                (float(c.getOffsetInHierarchy(part)) - shift, c.root().pitchClass,
                 [(p.pitchClass - c.root().pitchClass) % 12 for p in c.pitches])
                for c in part.recurse().getElementsByClass(harmony.ChordSymbol)
            ]
            end = max(n[0] + n[1] for n in notes)
            spans = []
            for (start, root, tones), after in zip(marks, marks[1:] + [(end, 0, [])]):
                length = after[0] - start
                if length <= 0 or start < 0:
                    continue
                third = 3 if 3 in tones else 4
                fifth = 6 if 6 in tones and 7 not in tones else 7
                spans.append((start, length, root, third, fifth))
            if len(spans) > 8:
                notes = _one_at_a_time([n for n in notes if n[0] + n[1] <= end])
                found.append(Tune(name + str(len(found)), meter, _placed(notes), spans))
    return found


# ---------------------------------------------------------------- accompaniments

class Chord:
    """What a pattern needs: pitches of root, third and fifth from a low place up."""

    def __init__(self, root, third, fifth, low):
        self.root = low + (root - low) % 12
        self.t, self.f = third, fifth
        self.classes = [(root + k) % 12 for k in (0, third, fifth)]

    def up(self, degree, octave=0):
        """Root, third or fifth (1, 3, 5) so many octaves over the low root; 10 is the tenth."""
        return self.root + {1: 0, 3: self.t, 5: self.f, 8: 12, 10: self.t + 12}[degree] + 12 * octave

    def close(self, low, count=3):
        """The chord in close position from a pitch up, above the low root."""
        low = max(low, self.root + 3)
        pitches = sorted(low + (c - low) % 12 for c in self.classes)
        return [(pitches + [pitches[0] + 12])[i] for i in range(count)]


def beats(span, beat):
    """Starts of the whole beats of a span, with their lengths."""
    at, out = 0.0, []
    while at < span - 1e-6:
        out.append((at, min(beat, span - at)))
        at += beat
    return out


def cycle(c, span, step, degrees, hold=False, turn=True):
    """A broken chord: `degrees` is a list of (degree, octave) over and over; the first of each
    turn is bass (only that of the span if not `turn`)."""
    out, k, at = [], 0, 0.0
    while at < span - 1e-6:
        place = k % len(degrees)
        bass = place == 0 and (turn or k == 0)
        length = min(len(degrees) * step, span - at) if hold and bass else min(step, span - at)
        out.append((at, length, c.up(*degrees[place]), bass))
        at, k = at + step, k + 1
    return out


def fitted(degrees, tune, step):
    """A turn cut or stretched to what a bar divides by: three or six notes in triple and compound
    time, else as it is."""
    if tune.meter != (3, 4) and tune.meter[1] != 8:
        return degrees
    inner = degrees[1:] or degrees
    size = 3 if tune.meter[1] == 8 and len(degrees) <= 4 and step >= 0.5 else 6
    return degrees[:1] + [inner[i % len(inner)] for i in range(size - 1)]


def chord_notes(at, length, pitches, bass=False):
    return [(at, length, p, bass and i == 0) for i, p in enumerate(pitches)]


def block(c, span, tune, rng, state):
    return chord_notes(0, span, [c.up(1), c.up(3), c.up(5)], True)


def block_beats(c, span, tune, rng, state):
    return [n for at, d in beats(span, tune.beat)
            for n in chord_notes(at, d, [c.up(1), c.up(5), c.up(10)], True)]


def bass_and_chord(c, span, tune, rng, state):
    return [(0, span, c.up(1), True)] + chord_notes(0, span, c.close(54))


def oom_pah(c, span, tune, rng, state, alternate=False, octave=False, tenth=False):
    """Bass on the beat, chords after it; in compound time the chord on the third eighth; in
    triple time one bass and two chords."""
    out, beat = [], tune.beat
    parts = beats(span, beat)
    if tune.meter == (3, 4):
        plan = [(at, d, i % 3 == 0) for i, (at, d) in enumerate(parts)]
    elif tune.meter[1] == 8:
        plan = []
        for at, d in parts:
            plan += [(at, 1.0, True)] + ([(at + 1.0, 0.5, False)] if d > 1.01 else [])
    elif tune.meter == (2, 4) or span <= beat + 1e-6:
        plan = []
        for at, d in parts:
            plan += [(at, d / 2, True), (at + d / 2, d / 2, False)]
    else:
        plan = [(at, d, i % 2 == 0) for i, (at, d) in enumerate(parts)]
    count = 0
    for at, d, low in plan:
        if low:
            five = alternate and count % 2
            pitch = c.up(5, -1) if five else c.up(1)
            out.append((at, d, pitch, True))
            if octave:
                out.append((at, d, pitch + 12, False))
            if tenth and not five:
                out.append((at, d, c.up(10), False))
            count += 1
        else:
            out += chord_notes(at, d, c.close(55))
    return out


def walking_tenths(c, span, tune, rng, state):
    out = []
    for i, (at, d) in enumerate(beats(span, tune.beat)):
        pitch = [c.up(1), c.up(1) + 2, c.up(3), c.up(5)][i % 4]
        out += [(at, d, pitch, True), (at, d, pitch + (15 if i % 4 else 12 + c.t), False)]
    return out


def alberti(step, fit=True):
    """With `fit` the turn is that of the bar; else always of four notes, over the beats."""
    degrees = [(1, 0), (5, 0), (3, 0), (5, 0)]
    return lambda c, span, tune, rng, state: cycle(
        c, span, step, fitted(degrees, tune, step) if fit else degrees)


def rolling(step, hold=False):
    degrees = [(1, 0), (5, 0), (8, 0), (10, 0), (5, 1), (10, 0), (8, 0), (5, 0)]
    return lambda c, span, tune, rng, state: cycle(
        c, span, step, fitted(degrees, tune, step), hold)


def tenths(step, hold=False):
    degrees = [(1, 0), (5, 0), (10, 0), (5, 0)]
    return lambda c, span, tune, rng, state: cycle(
        c, span, step, fitted(degrees, tune, step), hold)


def up_four(step, hold=False):
    return lambda c, span, tune, rng, state: cycle(
        c, span, step, [(1, 0), (5, 0), (8, 0), (10, 0)], hold)


def threes(degrees, step=None):
    """Three notes a beat."""
    return lambda c, span, tune, rng, state: cycle(
        c, span, step or tune.beat / 3, degrees)


def octave_tremolo(c, span, tune, rng, state):
    out, step = [], tune.beat / 4
    for at, d in beats(span, tune.beat):
        out += [(at + i * step, step, c.up(1 if i % 2 == 0 else 8), i == 0)
                for i in range(round(d / step))]
    return out


def octaves(c, span, tune, rng, state):
    out = []
    for i, (at, d) in enumerate(beats(span, tune.bar / 2 if tune.meter != (3, 4) else 1.0)):
        pitch = c.up(5, -1) if i % 2 else c.up(1)
        out += [(at, d, pitch, True), (at, d, pitch + 12, False)]
    return out


def octaves_and_chords(c, span, tune, rng, state):
    out = octaves(c, span, tune, rng, state)
    for at, d in beats(span, tune.beat):
        out += chord_notes(at, d, c.close(57))
    return out


def pedal_point(c, span, tune, rng, state):
    tonic = state.setdefault("tonic", 36 + (tune.spans[0][2] - 36) % 12)
    return [(0, span, tonic, True)] + chord_notes(0, span, c.close(55))


def walking(c, span, tune, rng, state, chords=False):
    """Quarters: chord tones and steps between them, then a step into the next root."""
    out, marks = [], beats(span, tune.beat)
    for i, (at, d) in enumerate(marks):
        if i % 4 == 0:
            turn = rng.choice([(0, c.t, 7, 9), (0, 2, c.t, 7), (12, 10, 9, 7), (0, c.t, 7, c.t)])
        choice = c.up(1) + turn[i % 4]
        if i == len(marks) - 1 and len(marks) > 1:
            choice = state["next"] + rng.choice([-1, 1, 2, -2])
        out.append((at, d, choice, True))
        if chords and i % 2:
            out += chord_notes(at, d / 2, c.close(55))
    return out


def boogie(c, span, tune, rng, state):
    """Root with fifth and sixth in turn, in eighths."""
    return [n for i, (at, d) in enumerate(beats(span, tune.beat / 2))
            for n in ((at, d, c.up(1), True), (at, d, c.up(1) + (7 if i % 4 < 2 else 9), False))]


def pop(c, span, tune, rng, state, chords=True):
    """Dotted beat, half beat, then beats; chords held over."""
    out, beat = [], tune.beat
    marks = [(0, 1.5 * beat), (1.5 * beat, 0.5 * beat)] + [
        (k * beat, beat) for k in range(2, round(span / beat))]
    marks = [(at, min(d, span - at)) for at, d in marks if at < span - 1e-6]
    out = [(at, d, c.up(1), True) for at, d in marks]
    return out + (chord_notes(0, span, c.close(57)) if chords else [])


def late(c, span, tune, rng, state):
    """The chord on the beat, the bass after it."""
    out = []
    for at, d in beats(span, tune.beat):
        out += chord_notes(at, d / 2, c.close(55)) + [(at + d / 2, d / 2, c.up(1), True)]
    return out


def early(c, span, tune, rng, state):
    """The bass half a beat before its chord, the chords on beats."""
    first = -tune.beat / 2 if state["at"] > 0 else 0
    out = [(first, span - tune.beat / 2 - first, c.up(1), True)]
    return out + [n for at, d in beats(span, tune.beat) for n in chord_notes(at, d, c.close(55))]


def rolled(c, span, tune, rng, state):
    step = 0.05
    return [(i * step, span - i * step, p, i == 0)
            for i, p in enumerate([c.up(1), c.up(5), c.up(10)])]


def charleston(c, span, tune, rng, state):
    """Bass on the beats, chords on syncopated places over it."""
    out = [(at, d, c.up(1 if i % 2 == 0 else 5), True)
           for i, (at, d) in enumerate(beats(span, tune.beat))]
    b = tune.beat
    above = c.close(max(57, c.up(5) + 2))
    return out + [n for at in (0.5 * b, 1.5 * b) if at + b / 2 <= span + 1e-6
                  for n in chord_notes(at, b / 2, above)]


def broken_quarters(degrees):
    """A broken chord no faster than the beat, once a span."""
    def made(c, span, tune, rng, state):
        step = 1.0 if min(tune.bar, span) > 2 and tune.meter[1] != 8 else 0.5
        size = round((tune.bar if step == 1.0 else min(tune.bar, span)) / step)
        turn = degrees[:1] + [degrees[1:][i % (len(degrees) - 1)] for i in range(size - 1)]
        marks = beats(span, step)
        return [(at, d, c.up(*turn[i % size]), i % size == 0) for i, (at, d) in enumerate(marks)]
    return made


def dyads(c, span, tune, rng, state, step=0.5):
    """Root, then third and fifth together."""
    out = []
    for i, (at, d) in enumerate(beats(span, step)):
        out += [(at, d, c.up(1), True)] if i % 2 == 0 else chord_notes(at, d, [c.up(3), c.up(5)])
    return out


def bass_rest_chords(c, span, tune, rng, state):
    """A short bass, then chords on all the other half beats."""
    out = [(0, tune.beat / 2, c.up(1), True)]
    return out + [n for at, d in beats(span, tune.beat / 2)[1:]
                  for n in chord_notes(at, d, c.close(55))]


def chord_tremolo(c, span, tune, rng, state):
    """The root against third and fifth in sixteenths, bass where a beat begins."""
    out, step = [], tune.beat / 4
    for at, d in beats(span, tune.beat):
        for i in range(round(d / step)):
            pitches = [c.up(1)] if i % 2 == 0 else [c.up(3), c.up(5)]
            out += chord_notes(at + i * step, step, pitches, i == 0)
    return out


def running_boogie(c, span, tune, rng, state):
    """Up the chord with sixth and seventh and down again, in eighths."""
    line = [0, 4, 7, 9, 10, 9, 7, 4]
    first = round(state["at"] % max(tune.bar, 4) * 2)
    return [(at, d, c.up(1) + line[(first + i) % 8], True)
            for i, (at, d) in enumerate(beats(span, 0.5))]


def short_stride(c, span, tune, rng, state):
    """Oom-pah with short notes and gaps."""
    return [(at, d * 0.4, p, b) for at, d, p, b in oom_pah(c, span, tune, rng, state, True)]


def chords_above(c, span, tune, rng, state):
    """Chords on beats over a tune in the left hand: no bass."""
    return [n for at, d in beats(span, tune.beat) for n in chord_notes(at, d, c.close(64))]


# What the finder was tuned on.
KNOWN = {
    "block chords": block,
    "block chords on beats": block_beats,
    "bass and chord": bass_and_chord,
    "oom-pah": oom_pah,
    "oom-pah, fifths": functools.partial(oom_pah, alternate=True),
    "stride, octaves": functools.partial(oom_pah, alternate=True, octave=True),
    "stride, tenths": functools.partial(oom_pah, tenth=True),
    "walking tenths": walking_tenths,
    "Alberti, eighths": alberti(0.5),
    "Alberti, sixteenths": alberti(0.25),
    "Alberti over the beats": alberti(0.5, False),
    "broken quarters": broken_quarters([(1, 0), (3, 0), (5, 0)]),
    "broken quarters, octave": broken_quarters([(1, 0), (5, 0), (8, 0), (5, 0)]),
    "root and dyads": dyads,
    "root and dyads, quarters": functools.partial(dyads, step=1.0),
    "short bass, many chords": bass_rest_chords,
    "chord tremolo": chord_tremolo,
    "running boogie": running_boogie,
    "short oom-pah": short_stride,
    "stride, octaves on tenths": functools.partial(oom_pah, octave=True, tenth=True),
    "rolling eighths": rolling(0.5),
    "rolling eighths, bass held": rolling(0.5, True),
    "rolling sixteenths": rolling(0.25),
    "broken tenths": tenths(0.5),
    "broken tenths, bass held": tenths(0.5, True),
    "up in four": up_four(0.5),
    "triplets": threes([(1, 0), (5, 0), (8, 0)]),
    "octave tremolo": octave_tremolo,
    "octaves": octaves,
    "octaves and chords": octaves_and_chords,
    "pedal point": pedal_point,
    "walking bass": walking,
    "walking bass, chords": functools.partial(walking, chords=True),
    "boogie": boogie,
    "pop": pop,
    "late bass": late,
    "charleston": charleston,
}


def down_up(c, span, tune, rng, state):
    return cycle(c, span, 0.5, [(1, 0), (10, 0), (8, 0), (5, 0)])


def held_wave(c, span, tune, rng, state):
    """A held bass under a wave in eighths that starts after it."""
    out = [(0, span, c.up(1), True)]
    tones, k, at = [c.up(5), c.up(8), c.up(10), c.up(8)], 0, 0.5
    while at < span - 1e-6:
        out.append((at, min(0.5, span - at), tones[k % 4], False))
        at, k = at + 0.5, k + 1
    return out


def mixed(c, span, tune, rng, state):
    return rng.choice([alberti(0.5), oom_pah, bass_and_chord, rolling(0.5)])(
        c, span, tune, rng, state)


def tango(c, span, tune, rng, state):
    b = tune.beat
    marks = [m for m in (0, 1.5 * b, 2 * b, 3 * b) if m < span - 1e-6] + [span]
    out = [(a, z - a, c.up(5 if i % 2 else 1), True)
           for i, (a, z) in enumerate(zip(marks, marks[1:]))]
    return out + chord_notes(0, span / 2, c.close(57)) + chord_notes(span / 2, span / 2, c.close(57))


# Made after the finder was tuned, or kept away from it: for measuring only.
UNSEEN = {
    "broken, down": down_up,
    "broken tenths, sixteenths": tenths(0.25),
    "wide triplets": threes([(1, 0), (5, 0), (10, 0)]),
    "up in four, sixteenths": up_four(0.25),
    "up in four, bass held": up_four(0.5, True),
    "held bass under a wave": held_wave,
    "mixed": mixed,
    "tango": tango,
    "pop, no chords": functools.partial(pop, chords=False),
    "early bass": early,
    "rolled chords": rolled,
}


def under(tune, pattern, seed=0, low=36, rest=False, five=False):
    """The tune over a pattern: (notes, bass) with notes (onset, length, pitch, is tune) in
    quarters from zero, bass (onset, pitch). With `rest` the tune is silent in every fourth bar."""
    rng, state, notes, bass = random.Random(f"{tune.name} {seed}"), {}, [], set()
    lift = min((n[0] for n in tune.notes), default=0)
    bar = tune.bar
    shift = bar if lift < 0 else 0.0
    for k, (start, length, root, third, fifth) in enumerate(tune.spans):
        c = Chord(root, third, fifth, low)
        after = tune.spans[(k + 1) % len(tune.spans)]
        state["next"], state["at"] = low + (after[2] - low) % 12, start
        for at, d, pitch, is_bass in pattern(c, length, tune, rng, state):
            notes.append((start + at + shift, d, pitch, False))
            if is_bass:
                bass.add((start + at + shift, pitch))
    for onset, length, pitch in tune.notes:
        if not (rest and int(onset / bar) % 4 == 3):
            notes.append((onset + shift, length, pitch, True))
    kept = {}
    for n in sorted(notes, key=lambda n: (n[0], n[2], n[3])):
        kept[n[0], n[2]] = n
    return sorted(kept.values()), bass
