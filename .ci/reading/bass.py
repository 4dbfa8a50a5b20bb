"""The bass of chorales merged to one track, and of accompaniments under folk tunes and lead
sheets. All velocities are equal, all notes are in one track. Baseline: the lowest note sounding.

Chorales: music21's corpus, bach/bwv352 to 438 (four voices, the bass is the lowest part). Tunes
and lead sheets, and what is our own in the accompaniments: `bass_textures.py`.
"""

import concurrent.futures

import bass_textures as textures
import common

CHORALES = range(352, 439)
EACH = 3  # tunes from each folder
SEED = 20  # another sample than the one that the finder was tuned on


def lowest(notes):
    """Every note under which nothing sounds when it begins; notes (onset, length, pitch, ..)."""
    events = sorted([(n[0], 1, n[2]) for n in notes] + [(n[0] + n[1], 0, n[2]) for n in notes])
    down, found, k = [], set(), 0
    while k < len(events):
        now, new = events[k][0], []
        while k < len(events) and events[k][0] == now:
            _, on, pitch = events[k]
            if on:
                down.append(pitch)
                new.append(pitch)
            else:
                down.remove(pitch)
            k += 1
        if new and min(new) == min(down):
            found.add((now, min(new)))
    return found


def in_ticks(notes):
    return [
        (common.tick(a), max(1, common.tick(a + d) - common.tick(a)), pitch, 72)
        for a, d, pitch, *_ in notes
    ]


def measure(program, path, meter, notes, bass):
    """F1 of the program and of the lowest note."""
    common.write_midi(path, [("Piano", notes)], meter=meter)
    answer = common.read(program, path)
    found = [(n["onset"], n["pitch"]) for n in answer["lines"]["bass"]]
    return common.f1(found, bass)[2], common.f1(lowest(notes), bass)[2]


def mean(values):
    values = list(values)
    return sum(values) / len(values)


def chorales():
    from music21 import corpus

    for number in CHORALES:
        try:
            score = corpus.parse(f"bach/bwv{number}").stripTies()
        except Exception:  # not in the corpus under this number
            continue
        rows = [
            [(float(n.getOffsetInHierarchy(p)), float(n.quarterLength), n.pitch.midi)
             for n in p.recurse().notes if not n.isChord and n.quarterLength]
            for p in score.parts
        ]
        meter = score.recurse().getElementsByClass("TimeSignature").first()
        longest = {}
        for a, d, pitch in sorted(n for row in rows for n in row):
            longest[a, pitch] = d  # a unison is one key
        notes = [(a, d, pitch) for (a, pitch), d in sorted(longest.items())]
        bass = [(common.tick(a), pitch) for a, _, pitch in rows[-1]]
        yield number, (meter.numerator, meter.denominator), in_ticks(notes), bass


def jobs(place):
    for number, meter, notes, bass in chorales():
        yield "chorales, one track", place / f"bwv{number}.mid", meter, notes, bass
    tunes = textures.tunes(SEED, EACH) + textures.sheets()
    for known, patterns in ((True, textures.KNOWN), (False, textures.UNSEEN)):
        for k, (name, pattern) in enumerate(patterns.items()):
            for i, tune in enumerate(tunes):
                notes, bass = textures.under(
                    tune, pattern, SEED, textures.PLACES[(i + k) % 5], rest=i % 4 == 3
                )
                bass = [(common.tick(a), pitch) for a, pitch in bass]
                what = name if known else f"{name} (not tuned on)"
                yield what, place / f"{k}{known}{i}.mid", tune.meter, in_ticks(notes), bass


def rows(program, work):
    place = common.folder(work, "bass")
    found = {}
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        waiting = [(job[0], pool.submit(measure, program, *job[1:])) for job in jobs(place)]
        for name, result in waiting:
            found.setdefault(name, []).append(result.result())
    return [
        common.Row("bass F1", name, mean(r[0] for r in results), FLOORS.get(name, 0.95),
                   "lowest note", mean(r[1] for r in results))
        for name, results in found.items()
    ]


# Just under what was measured.
FLOORS = {
    "chorales, one track": 0.988,
    "block chords": 0.993,
    "block chords on beats": 0.995,
    "bass and chord": 0.993,
    "oom-pah": 0.995,
    "oom-pah, fifths": 0.994,
    "stride, octaves": 0.984,
    "stride, tenths": 0.974,
    "walking tenths": 0.994,
    "Alberti, eighths": 0.992,
    "Alberti, sixteenths": 0.995,
    "Alberti over the beats": 0.991,
    "broken quarters": 0.960,
    "broken quarters, octave": 0.955,
    "root and dyads": 0.995,
    "root and dyads, quarters": 0.991,
    "short bass, many chords": 0.987,
    "chord tremolo": 0.995,
    "running boogie": 0.825,
    "short oom-pah": 0.995,
    "stride, octaves on tenths": 0.984,
    "rolling eighths": 0.980,
    "rolling eighths, bass held": 0.993,
    "rolling sixteenths": 0.991,
    "broken tenths": 0.981,
    "broken tenths, bass held": 0.987,
    "up in four": 0.992,
    "triplets": 0.994,
    "octave tremolo": 0.988,
    "octaves": 0.994,
    "octaves and chords": 0.990,
    "pedal point": 0.993,
    "walking bass": 0.977,
    "walking bass, chords": 0.948,
    "boogie": 0.995,
    "pop": 0.995,
    "late bass": 0.981,
    "charleston": 0.979,
    "broken, down (not tuned on)": 0.991,
    "broken tenths, sixteenths (not tuned on)": 0.988,
    "wide triplets (not tuned on)": 0.994,
    "up in four, sixteenths (not tuned on)": 0.995,
    "up in four, bass held (not tuned on)": 0.987,
    "held bass under a wave (not tuned on)": 0.985,
    "mixed (not tuned on)": 0.973,
    "tango (not tuned on)": 0.988,
    "pop, no chords (not tuned on)": 0.983,
    "early bass (not tuned on)": 0.993,
    "rolled chords (not tuned on)": 0.975,
}
