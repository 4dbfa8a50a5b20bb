"""Melody: notes found against notes known, on pieces merged to one track.

Sources: chorales BWV 352 to 376, Lift Every Voice and Aloha Oe of music21 10.5.1's corpus, with
the soprano or the singer as melody; folk tunes of the same corpus with made accompaniments, and
as sung tunes over a made piano part (`textures.py`). The baseline is the highest new note of each
attack, from middle C up. A note is found if its pitch is right and its onset within a sixteenth
of a quarter.
"""

import random

import common
import textures
from music21 import corpus

NEAR = common.TICKS // 16


def score_voices(name):
    """Meter and voices of a score, shifted by its pickup; notes (onset, length, pitch)."""
    score = corpus.parse(name).stripTies()
    time = score.recurse().getElementsByClass("TimeSignature").first()
    bar = float(time.barDuration.quarterLength)
    first = score.parts[0].getElementsByClass("Measure").first()
    pickup = float(first.duration.quarterLength)
    shift = bar - pickup if pickup < bar else 0.0
    voices = [
        [
            (float(n.getOffsetInHierarchy(part)) + shift, float(n.quarterLength), pitch.midi)
            for n in part.recurse().notes
            if n.quarterLength
            for pitch in n.pitches
        ]
        for part in score.parts
    ]
    return (time.numerator, time.denominator), voices


def merged(melody, others, loud=0, seed=0):
    """One track; of notes struck at once on one key the melody's. `loud`: how much louder the
    melody is, with a spread of 6 on all notes; 0 is all alike."""
    rng = random.Random(seed)
    notes = {}
    for rows, over in ((others, 0), (melody, loud)):
        for on, length, pitch in rows:
            velocity = round(rng.gauss(70 + over, 6)) if loud else 80
            key = (common.tick(on), pitch)
            notes[key] = (*key[:1], common.tick(length), pitch, max(1, min(127, velocity)))
    ordered = sorted(notes.values(), key=lambda n: (n[2], n[0]))
    cut = []
    for note, after in zip(ordered, ordered[1:] + [None]):
        if after and after[2] == note[2]:
            note = (note[0], min(note[1], after[0] - note[0]), *note[2:])
        cut.append(note)
    return cut


def top_notes(notes, lowest=60):
    """The baseline: of each attack the highest note, if it is not too low."""
    tops = {}
    for onset, _, pitch, _ in notes:
        if pitch >= lowest:
            tops[onset] = max(tops.get(onset, 0), pitch)
    return set(tops.items())


def measure(program, path, notes, melody, meter, until=None):
    """F1 of the program and of the baseline. `until`: how far the melody is known, in quarters."""
    common.write_midi(path, [("", notes)], meter)
    end = common.tick(until) if until else float("inf")
    true = {(common.tick(on), pitch) for on, _, pitch in melody}
    line = common.read(program, path)["lines"]["melody"]
    found = {(n["onset"], n["pitch"]) for n in line if n["onset"] < end}
    tops = {n for n in top_notes(notes) if n[0] < end}
    return common.f1(found, true, NEAR)[2], common.f1(tops, true, NEAR)[2]


def mean_row(name, pieces, results, floor):
    ours, theirs = (sum(column) / len(column) for column in zip(*results))
    return common.Row(name, pieces, ours, floor, "top note from C4", theirs)


def chorales(program, place):
    found = []
    for number in range(352, 377):
        meter, voices = score_voices(f"bach/bwv{number}")
        notes = merged(voices[0], sum(voices[1:], []))
        found.append(measure(program, place / "chorale.mid", notes, voices[0], meter))
    return mean_row("melody F1", f"{len(found)} chorales, one track", found, FLOORS["chorales"])


def hymn(program, place):
    meter, voices = score_voices("johnson_j_r/lift_every_voice")
    notes = merged(voices[0], sum(voices[1:], []))
    found = measure(program, place / "lift.mid", notes, voices[0], meter)
    return mean_row("melody F1", "Lift Every Voice, one track", [found], FLOORS["lift"])


def voice_and_piano(program, place, loud):
    meter, voices = score_voices("liliuokalani/aloha_oe")
    solo, piano = voices[4], voices[5] + voices[6]
    until = max(on + length for on, length, _ in solo)
    notes = merged(solo, piano, loud)
    found = measure(program, place / "aloha.mid", notes, solo, meter, until)
    how = "louder" if loud else "all alike"
    name = f"Aloha Oe, voice and piano, {how}"
    return mean_row("melody F1", name, [found], FLOORS["aloha", loud])


def sketches(program, place, style):
    found = []
    for tune in TUNES:
        tune = tune.around(74)
        left, _ = textures.left_hand(style, textures.chords(tune))
        notes = merged(tune.notes, left)
        found.append(measure(program, place / "tune.mid", notes, tune.notes, tune.meter))
    return mean_row("melody F1", f"{len(found)} folk tunes over {style}", found, FLOORS[style])


def songs(program, place, loud):
    found = []
    for seed, tune in enumerate(3 * TUNES):
        melody, piano = textures.song(tune, seed)
        notes = merged(melody.notes, piano, loud, seed)
        found.append(measure(program, place / "song.mid", notes, melody.notes, melody.meter))
    how = f"tune {loud} louder" if loud else "all alike"
    return mean_row("melody F1", f"{len(found)} made songs, {how}", found, FLOORS["songs", loud])


def slow_tunes(program, place, where, loud):
    """The folk tunes two to four times as slow, over wide figures with and without a held bass,
    or in the tenor or the alto under high ones."""
    found = []
    for seed, tune in enumerate(3 * TUNES):
        times = (2, 3, 4)[seed % 3]
        over = where == "over arpeggios"
        slow = textures.slowed(tune, times, (74 if seed % 2 else 70) if over else (52, 62)[seed % 2])
        rows = textures.chords(slow)
        styles = ("wave", "triplets", "tenths", "sixteenths")
        if not over:
            styles = ("sixteenths", "eighths", "tremolo")
        lowest = 40 if over else max(p for _, _, p in slow.notes) + 3
        others = textures.even_figure(styles[seed // 2 % len(styles)], rows, lowest, over)
        if seed % 3 == 0:
            others += [(start, end - start, textures.low(r, 28)) for start, end, r, _ in rows]
        notes = merged(slow.notes, others, loud, seed)
        found.append(measure(program, place / "slow.mid", notes, slow.notes, slow.meter))
    how = f"tune {loud} louder" if loud else "all alike"
    name = f"{len(found)} slow tunes {where}, {how}"
    return mean_row("melody F1", name, found, FLOORS[where, loud])


TUNES = []
FLOORS = {
    "chorales": 0.994,
    "lift": 0.995,
    ("aloha", 0): 0.732,
    ("aloha", 12): 0.781,
    "block": 0.988,
    "stride": 0.987,
    "broken": 0.987,
    "alberti": 0.990,
    ("songs", 0): 0.630,
    ("songs", 12): 0.703,
    ("over arpeggios", 0): 0.973,
    ("over arpeggios", 12): 0.975,
    ("under figures", 0): 0.989,
    ("under figures", 12): 0.989,
}


def rows(program, work):
    place = common.folder(work, "lines")
    if not TUNES:
        TUNES.extend(textures.tunes())
    found = [chorales(program, place), hymn(program, place)]
    found += [voice_and_piano(program, place, loud) for loud in (0, 12)]
    styles = ("block", "stride", "broken", "alberti")
    found += [sketches(program, place, style) for style in styles]
    found += [songs(program, place, loud) for loud in (0, 12)]
    for where in ("over arpeggios", "under figures"):
        found += [slow_tunes(program, place, where, loud) for loud in (0, 12)]
    return found
