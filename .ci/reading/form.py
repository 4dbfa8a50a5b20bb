"""Phrases and repeats, against what chorales and folk tunes print.

Phrase ends: the fermatas of 87 chorales. In the chorale books a fermata marks the end of a line of
verse, so a phrase begins with the soprano's next note; the last one is left out. A boundary counts
if it lies on that very note. All voices go into one track. Baselines: a boundary every two bars;
and one after every soprano note at least twice as long as the usual one.

Repeats: tunes whose ABC source has repeat signs, played out by music21. A bar is a repeat if the
source has it repeat an earlier bar. Found is a bar that the program says repeats a bar of that
same content, or that very bar where an ending or the pickup to what follows differs. False is a bar said to repeat one that differs from it in more than half of its time
(pitches compared at each sixteenth, after the transposition that is claimed).

Phrase starts of the same tunes: it is assumed that sections of 4, 8 or 16 bars between repeat
signs are built of phrases of four bars (common practice of dance tunes, no source), so that each
fourth bar begins a phrase; phrases of two bars are accepted as no mistake. A pickup of up to half
a bar belongs to the bar it leads to. Baseline: a boundary every eight bars. Of tunes of the form
AABB, the parts are found if sections start where they do and those of one part share a letter.

The weights of phrases and repeats were chosen by trial on these same pieces.
"""

import random
from pathlib import Path

from common import TICKS, Row, folder, read, write_midi

FOLK = ["ryansMammoth", "oneills1850", "airdsAirs", "miscFolk"]


# ---------------------------------------------------------------- chorales


def chorale(number):
    """All notes in ticks, the soprano's, the ticks that phrases begin at, meter."""
    from music21 import corpus, expressions

    score = corpus.parse(f"bach/bwv{number}")
    parts = [list(p.stripTies().flatten().notes) for p in score.parts]
    first = score.parts[0].getElementsByClass("Measure").first()
    short = first.barDuration.quarterLength - first.duration.quarterLength
    shift = max(0, short)
    ticks = lambda quarters: round(quarters * TICKS)
    plain = lambda n: (ticks(n.offset + shift), ticks(n.quarterLength), n.pitch.midi, 72)
    notes = [plain(n) for part in parts for n in part if not n.isChord and n.quarterLength]
    soprano = [n for n in parts[0] if not n.isChord and n.quarterLength]
    held = [any(isinstance(e, expressions.Fermata) for e in n.expressions) for n in soprano]
    # Tied notes carry their fermata on one of them.
    starts = {plain(b)[0] for a, b, f in zip(soprano, soprano[1:], held) if f}
    time = score.parts[0].flatten().getElementsByClass("TimeSignature").first()
    return notes, [plain(n) for n in soprano], starts, (time.numerator, time.denominator)


def joined(notes):
    """One track: unisons that start together once, and no pitch struck while it sounds."""
    out = {}
    for onset, length, pitch, velocity in sorted(notes):
        out[onset, pitch] = max(length, out.get((onset, pitch), 0))
    by_pitch = {}
    for onset, pitch in sorted(out):
        row = by_pitch.setdefault(pitch, [])
        if row and row[-1][0] + row[-1][1] > onset:
            row[-1][1] = onset - row[-1][0]
        row.append([onset, out[onset, pitch]])
    return [(on, length, p, 72) for p, row in by_pitch.items() for on, length in row]


def f1(found, true):
    hits = len(found & true)
    return hits, len(found), len(true)


def add(total, one):
    return tuple(a + b for a, b in zip(total, one))


def score(total):
    hits, found, true = total
    return hits / max(1, found), hits / max(1, true), 2 * hits / max(1, found + true)


def fermatas(program, work):
    place = folder(work, "form")
    ours = two_bars = long_notes = (0, 0, 0)
    for number in range(352, 439):
        notes, soprano, starts, meter = chorale(number)
        path = place / f"bwv{number}.mid"
        if not path.exists():
            write_midi(path, [("Piano", joined(notes))], meter=meter)
        answer = read(program, path)
        ours = add(ours, f1(set(answer["phrases"][1:]), starts))
        onsets = [n[0] for n in soprano]
        bar = TICKS * 4 * meter[0] // meter[1]
        first, last = onsets[0], onsets[-1]
        every = {min(o for o in onsets if o >= at) for at in range(first + 2 * bar, last, 2 * bar)}
        two_bars = add(two_bars, f1(every, starts))
        usual = sorted(n[1] for n in soprano)[len(soprano) // 2]
        after = {b[0] for a, b in zip(soprano, soprano[1:]) if b[0] - a[0] >= 2 * usual}
        long_notes = add(long_notes, f1(after, starts))
    return score(ours), score(two_bars), score(long_notes)


# ---------------------------------------------------------------- tunes


class Tune:
    """A tune played out: notes, bars (start tick, number of its bar in the source), sections."""

    def __init__(self, text):
        from music21 import bar as m21bar, converter

        source = converter.parse(text, format="abc").parts[0]
        self.repeated = any(
            isinstance(b, m21bar.Repeat) for b in source.recurse().getElementsByClass(m21bar.Barline)
        )
        for i, measure in enumerate(source.getElementsByClass("Measure")):
            measure.number = i
        played = source.expandRepeats()
        measures = list(played.getElementsByClass("Measure"))
        time = source.recurse().getElementsByClass("TimeSignature").first()
        self.meter = (time.numerator, time.denominator)
        self.bar = round(time.barDuration.quarterLength * TICKS)
        self.notes, self.bars, held = [], [], []
        now = 0
        for i, measure in enumerate(measures):
            length = round(measure.duration.quarterLength * TICKS)
            # A short bar is the first, or joins the one before it to a whole.
            if i == 0 and length < self.bar:
                now = self.bar - length
            if now % self.bar == 0:
                self.bars.append((now, measure.number))
            held.append((now, length))
            for n in measure.flatten().notes:
                if n.quarterLength and not n.isChord:
                    onset = now + round(n.offset * TICKS)
                    self.notes.append((onset, round(n.quarterLength * TICKS), n.pitch.midi, 80))
            now += length
        self.whole = all((at + length) % self.bar == 0 or at % self.bar == 0 for at, length in held)
        self.end = now

    def pitches(self, start):
        """The pitch at each sixteenth of a bar, 0 for none."""
        step = TICKS // 4
        row = []
        for at in range(start, start + self.bar, step):
            sounding = [p for on, length, p, _ in self.notes if on <= at < on + length]
            row.append(sounding[0] if sounding else 0)
        return row


def tunes(count):
    from music21 import corpus

    texts = []
    for name in FOLK:
        for path in sorted((Path(corpus.__file__).parent / name).glob("*.abc")):
            text = path.read_text(encoding="utf-8", errors="replace").replace("\r", "")
            texts += ["X:" + tune for tune in ("\n" + text).split("\nX:")[1:] if ":|" in tune]
    found = []
    for text in random.Random(1851).sample(texts, len(texts)):
        try:
            tune = Tune(text)
        except Exception:  # not every tune is read, or its repeats played out, by music21
            continue
        repeats = len(tune.bars) - len({number for _, number in tune.bars})
        if tune.repeated and tune.whole and repeats >= 4 and len(tune.bars) <= 200:
            found.append(tune)
        if len(found) == count:
            break
    return found


def claimed(answer, bar):
    """What the program says a bar repeats: (source tick, semitones) or None."""
    for stretch in answer["form"]["repeats"]:
        if stretch["start"] <= bar < stretch["end"]:
            return stretch["source"] + bar - stretch["start"], stretch["semitones"]
    return None


def likeness(tune, bar, source, semitones):
    pairs = list(zip(tune.pitches(bar), tune.pitches(source)))
    return sum(a == b + semitones if a and b else a == b for a, b in pairs) / len(pairs)


def repeats(program, place, found_tunes):
    found = true = false = claims = 0
    for i, tune in enumerate(found_tunes):
        path = place / f"tune{i}.mid"
        if not path.exists():
            write_midi(path, [("Tune", joined(tune.notes))], meter=tune.meter)
        answer = read(program, path)
        seen = {}
        for start, number in tune.bars:
            claim = claimed(answer, start)
            first = number not in seen
            seen.setdefault(number, start)
            like = likeness(tune, start, *claim) if claim else 0.0
            true += not first
            at = dict(tune.bars).get(claim[0]) if claim else None
            same = like >= 0.99 or at == number
            found += not first and bool(claim) and same and claim[1] == 0
            claims += bool(claim)
            false += bool(claim) and like < 0.5
    return found / true, false / max(1, claims)


def fours(program, place, found_tunes):
    """Share of phrase starts on every second bar of a section, and of four-bar starts found."""
    good = starts = hits = wanted = 0
    eights = 0
    for i, tune in enumerate(found_tunes):
        numbers = [number for _, number in tune.bars]
        # Sections: runs of bars until the source jumps back or a new part begins.
        cuts = [k for k in range(1, len(numbers)) if numbers[k] != numbers[k - 1] + 1]
        cuts = sorted({0, *cuts, *[k for k in range(1, len(numbers)) if k in played_again(numbers)]})
        lengths = [b - a for a, b in zip(cuts, [*cuts[1:], len(numbers)])]
        if any(n not in (4, 8, 16) for n in lengths):
            continue
        four = {tune.bars[c + k][0] for c, n in zip(cuts, lengths) for k in range(0, n, 4)}
        two = {tune.bars[c + k][0] for c, n in zip(cuts, lengths) for k in range(0, n, 2)}
        answer = read(program, place / f"tune{i}.mid")
        begun = {-(-(at - tune.bar // 2) // tune.bar) * tune.bar for at in answer["phrases"][1:]}
        first = tune.bars[0][0]
        four, two = four - {first}, two - {first}
        good += len(begun & two)
        starts += len(begun)
        hits += len(begun & four)
        wanted += len(four)
        eight = set(range(first + 8 * tune.bar, tune.end, 8 * tune.bar))
        eights += len(eight & four)
    return good / max(1, starts), hits / max(1, wanted), eights / max(1, wanted)


def played_again(numbers):
    """Places where a source bar begins that is jumped to from elsewhere."""
    targets = {numbers[k] for k in range(1, len(numbers)) if numbers[k] != numbers[k - 1] + 1}
    return [k for k, number in enumerate(numbers) if number in targets]


def parts(program, place, found_tunes):
    """Share of tunes AABB whose four parts are found as sections, each pair of one letter."""
    right = tunes_aabb = 0
    for i, tune in enumerate(found_tunes):
        numbers = [number for _, number in tune.bars]
        part = len(numbers) // 4
        a, again, b, once_more = (numbers[k * part : (k + 1) * part] for k in range(4))
        if len(numbers) % 4 or a != again or b != once_more or a == b:
            continue
        tunes_aabb += 1
        form = read(program, place / f"tune{i}.mid")["form"]
        letters = {}
        for k, section in enumerate(form["sections"]):
            line = -(-(section["start"] - tune.bar // 2) // tune.bar) * tune.bar
            letters[line if k else tune.bars[0][0]] = section["label"].rstrip("'")
        found = [letters.get(tune.bars[k * part][0]) for k in range(4)]
        right += None not in found and found[0] == found[1] and found[2] == found[3]
    return right / max(1, tunes_aabb)


def rows(program, work):
    ours, two_bars, long_notes = fermatas(program, work)
    place = folder(work, "form")
    played = tunes(100)
    found, false = repeats(program, place, played)
    good, hits, eights = fours(program, place, played)
    names = ["phrase starts, precision", "phrase starts, recall", "phrase starts, F1"]
    out = [
        Row(name, "87 chorales, fermatas", a, floor, f"every long note {c:.4f}, two bars", b)
        for name, a, b, c, floor in zip(names, ours, two_bars, long_notes, (0.945, 0.86, 0.902))
    ]
    return out + [
        Row("repeated bars found", "100 tunes played out", found, 0.996),
        Row("claimed repeats that are right", "100 tunes played out", 1 - false, 0.998),
        Row("four-bar phrases found", "tunes in fours", hits, 0.745, "every eight bars", eights),
        Row("phrase starts on even bars", "tunes in fours", good, 0.752),
        Row("four parts found as sections", "tunes AABB", parts(program, place, played), 0.73),
    ]
