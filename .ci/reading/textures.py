"""Folk tunes with made accompaniments, and songs with a sung tune over a piano: sketches whose
melody and bass are known by construction.

Tunes: from the `ryansMammoth` collection that music21 10.5.1 carries. Everything else is made here from a seed: chords (one a bar, the triad of the key
that fits the bar best), left hands and right hands. A note is (onset, length, pitch) in quarters.
"""

import random
from dataclasses import dataclass

from music21 import corpus

TUNES = [
    "ryansMammoth/BanjoReel.abc",
    "ryansMammoth/ChristmasHornpipe.abc",
    "ryansMammoth/FireHimOutReel.abc",
    "ryansMammoth/InimitableReel.abc",
    "ryansMammoth/LochNaGarStrathspey.abc",
    "ryansMammoth/NeapolitanThreshersJig.abc",
    "ryansMammoth/PrimaDonnaHornpipe.abc",
    "ryansMammoth/SukeyBidsMeReel.abc",
]
MAJOR = [(0, (0, 4, 7)), (2, (0, 3, 7)), (5, (0, 4, 7)), (7, (0, 4, 7)), (9, (0, 3, 7))]
MINOR = [(0, (0, 3, 7)), (3, (0, 4, 7)), (5, (0, 3, 7)), (7, (0, 4, 7)), (8, (0, 4, 7))]


@dataclass
class Tune:
    name: str
    notes: list
    bar: float  # quarters
    meter: tuple
    tonic: int
    minor: bool

    @property
    def end(self):
        last = max(on + length for on, length, _ in self.notes)
        return -(-last // self.bar) * self.bar

    def moved(self, semitones):
        notes = [(on, length, pitch + semitones) for on, length, pitch in self.notes]
        tonic = (self.tonic + semitones) % 12
        return Tune(self.name, notes, self.bar, self.meter, tonic, self.minor)

    def around(self, pitch):
        """The tune moved so that its median pitch is this one."""
        pitches = sorted(p for _, _, p in self.notes)
        return self.moved(pitch - pitches[len(pitches) // 2])


def tune(path, bars=16):
    score = corpus.parse(path)
    score = score.scores[0] if hasattr(score, "scores") else score
    part = score.stripTies().parts[0]
    time = part.recurse().getElementsByClass("TimeSignature").first()
    key = part.recurse().getElementsByClass("KeySignature").first()
    bar = float(time.barDuration.quarterLength)
    first = part.getElementsByClass("Measure").first()
    pickup = float(first.duration.quarterLength)
    shift = bar - pickup if pickup < bar else 0.0
    notes = [
        (float(n.getOffsetInHierarchy(part)) + shift, float(n.quarterLength), n.pitch.midi)
        for n in part.recurse().notes
        if not n.isChord and n.quarterLength
    ]
    notes = [n for n in notes if n[0] + n[1] <= bars * bar]
    minor = getattr(key, "mode", "major") == "minor"
    sharps = key.sharps if key else 0
    tonic = (7 * sharps + (9 if minor else 0)) % 12
    return Tune(path, notes, bar, (time.numerator, time.denominator), tonic, minor)


def tunes():
    return [tune(path) for path in TUNES]


def chords(tune, span=None):
    """(start, end, root class, classes): for each bar the triad of the key that fits it best."""
    span = span or tune.bar
    found = []
    at = 0.0
    while at < tune.end - 1e-6:
        weight = [0.0] * 12
        for on, length, pitch in tune.notes:
            shared = min(on + length, at + span) - max(on, at)
            if shared > 0:
                weight[pitch % 12] += shared * (1.5 if on == at else 1.0)

        def fit(row):
            classes = [(tune.tonic + row[0] + step) % 12 for step in row[1]]
            inside = sum(weight[c] for c in classes)
            return 2 * inside - sum(weight) + (0.3 if row[0] in (0, 5, 7) else 0.0)

        root, steps = max(MINOR if tune.minor else MAJOR, key=fit)
        root = (tune.tonic + root) % 12
        found.append((at, at + span, root, [(root + step) % 12 for step in steps]))
        at += span
    return found


def low(root, base):
    return base + (root - base) % 12


def close(classes, centre, count):
    """The chord tones nearest to a pitch, lowest first."""
    near = [p for p in range(int(centre) - 14, int(centre) + 15) if p % 12 in classes]
    return sorted(sorted(near, key=lambda p: (abs(p - centre), p))[:count])


def left_hand(style, rows, base=36):
    """Notes and, of those, the bass: `block`, `stride`, `broken`, `alberti`, `octaves`,
    `arpeggio`."""
    notes, bass = [], []
    for start, end, root, classes in rows:
        span = end - start
        r = low(root, base)
        ladder = [p for p in range(r, r + 30) if p % 12 in classes]
        if style == "block":
            chord = close(classes, r + 16, 3)
            notes += [(start, span, r)] + [(start, span, p) for p in chord if p != r]
            bass.append((start, span, r))
        elif style == "stride":
            for beat in range(int(span)):
                if beat % 2 == 0:
                    pitch = r if beat % 4 == 0 else ladder[2] - 12
                    notes.append((start + beat, 1, pitch))
                    bass.append((start + beat, 1, pitch))
                else:
                    notes += [(start + beat, 1, p) for p in close(classes, r + 17, 3)]
        elif style == "octaves":
            for beat in range(0, int(span), 2):
                long = min(2, span - beat)
                notes += [(start + beat, long, r), (start + beat, long, r - 12)]
                bass.append((start + beat, long, r - 12))
        else:
            cycle = {
                "broken": [0, 2, 3, 4, 5, 4, 3, 2],
                "alberti": [0, 2, 1, 2],
                "arpeggio": [0, 2, 3, 4],
            }[style]
            for i in range(int(span * 2)):
                pitch = ladder[min(cycle[i % len(cycle)], len(ladder) - 1)]
                note = (start + i / 2, 0.5, pitch)
                notes.append(note)
                if i % len(cycle) == 0 or style == "alberti" and i % 4 == 0:
                    bass.append(note)
    return notes, bass


FIGURES = {  # places in the chord from its root or lowest tone up, and the step in quarters
    "wave": ([0, 1, 2, 3, 4, 3, 2, 1], 0.5),
    "triplets": ([0, 1, 2, 3, 2, 1], 1 / 3),
    "tenths": ([0, 1, 3, 1], 0.5),
    "sixteenths": ([0, 1, 2, 1], 0.25),
    "eighths": ([0, 1, 2, 1], 0.5),
    "tremolo": ([0, 2], 0.25),
}


def even_figure(style, rows, lowest, wide):
    """An even figure round the tones of each chord, from a lowest pitch up. `wide`: from the root
    over its fifth and octave to the tenth and twelfth; else the chord's tones one by one."""
    places, step = FIGURES[style]
    notes = []
    for start, end, root, classes in rows:
        r = low(root, lowest)
        if wide:
            ladder = [r, r + 7] + [p for p in range(r + 12, r + 30) if p % 12 in classes]
        else:
            ladder = [p for p in range(lowest, lowest + 30) if p % 12 in classes]
        for i in range(round((end - start) / step)):
            notes.append((start + i * step, step, ladder[places[i % len(places)]]))
    return notes


def slowed(tune, times, register, bars=24):
    """The tune with all its notes so many times as long, around a pitch, in its old bars."""
    end = bars * tune.bar
    notes = [(times * on, times * length, pitch) for on, length, pitch in tune.notes]
    notes = [n for n in notes if n[0] + n[1] <= end]
    slow = Tune(tune.name, notes, tune.bar, tune.meter, tune.tonic, tune.minor)
    return slow.around(register)


def right_hand(style, rows, centre, rng):
    """Chords, syncopated chords or running broken chords around a pitch."""
    notes = []
    for start, end, _, classes in rows:
        span = end - start
        chord = close(classes, centre, 3)
        if style == "half":
            starts = [(0, 2), (2, 2)]
        elif style == "pushed":
            starts = [(0, 1.5), (1.5, 1), (2.5, 1.5)]
        elif style == "off":
            starts = [(beat + 0.5, 0.5) for beat in range(int(span))]
        else:
            wide = close(classes, centre, 4)
            step = 0.25 if style == "sixteenths" else 0.5
            for i in range(int(span / step)):
                notes.append((start + i * step, step, wide[[0, 2, 1, 3][i % 4] % len(wide)]))
            continue
        for on, length in starts:
            if on < span:
                notes += [(start + on, min(length, span - on), p) for p in chord]
    return notes


def fill(rows, start, end, centre, rng):
    """What a piano plays in a singer's rest: a run of chord tones and steps."""
    notes, pitch, at = [], centre, start
    classes = next((r[3] for r in rows if r[0] <= start < r[1]), rows[-1][3])
    pitch = min((p for p in range(centre - 6, centre + 7) if p % 12 in classes), default=centre)
    while at < end - 0.25:
        notes.append((at, 0.5, pitch))
        pitch += rng.choice([-4, -2, 2, 3, 5])
        at += 0.5
    return notes


def sung(tune, rng, register):
    """The tune as a singer has it: slower, with anticipations, and a bar's rest after each two
    bars."""
    slow = [(2 * on, 2 * length, pitch) for on, length, pitch in tune.notes]
    bar, notes = tune.bar, []
    for on, length, pitch in slow:
        rests = int(on // (2 * bar))
        on += rests * bar
        if length >= 1 and on % 1 == 0 and on > 0 and rng.random() < 0.25 and notes:
            before = notes[-1]
            if before[0] + before[1] > on - 0.5 and before[1] > 0.5:
                notes[-1] = (before[0], on - 0.5 - before[0], before[2])
                on, length = on - 0.5, length + 0.5
        notes.append((on, min(length, 3), pitch))
    moved = Tune(tune.name, notes, bar, tune.meter, tune.tonic, tune.minor)
    return moved.around(register)


STYLES = [
    ("arpeggio", "half", -5),
    ("octaves", "eighths", -2),
    ("arpeggio", "pushed", -8),
    ("octaves", "sixteenths", 2),
    ("broken", "off", 0),
    ("octaves", "pushed", 4),
]


def song(tune, seed):
    """A sung tune with a piano that never rests: (tune's notes, piano's notes). An interlude of
    four bars for the piano alone stands before it. Hands: the rows of `STYLES`, in which the
    right hand lies so many semitones from the middle of the tune."""
    rng = random.Random(seed)
    left, right, away = STYLES[seed % len(STYLES)]
    register = rng.choice([62, 65, 67, 69])
    tune = sung(tune, rng, register)
    ahead = 4 * tune.bar
    notes = [(on + ahead, length, pitch) for on, length, pitch in tune.notes]
    tune = Tune(tune.name, notes, tune.bar, tune.meter, tune.tonic, tune.minor)
    rows = chords(tune)
    piano = left_hand(left, rows)[0] + right_hand(right, rows, register + away, rng)
    at = 0.0
    for on, length, _ in sorted(tune.notes) + [(tune.end, 0, 0)]:
        if on - at >= 2 and rng.random() < 0.5:
            piano += fill(rows, at, on, register + away + 5, rng)
        at = max(at, on + length)
    own = {(on, pitch) for on, _, pitch in tune.notes}
    return tune, [n for n in piano if (n[0], n[2]) not in own]
