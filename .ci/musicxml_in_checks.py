"""Outside check of reading MusicXML: files of music21's corpus, the same notes as music21 finds.

Every file is read by `bandwright read FILE --json -` and by music21, and the notes are held against each
other: where they begin and how long they sound, tied notes as one, at sounding pitch, repeats played out;
grace notes by their pitches alone. Only notes are compared; nothing is tuned by what is seen here.

    python musicxml_in_checks.py --program target/release/bandwright
    python musicxml_in_checks.py --self-test
"""

import argparse
import collections
import json
import multiprocessing
import os
import subprocess
import sys
import time
import warnings
from fractions import Fraction

TICKS_OFF = Fraction(1, 480)


def corpus():
    import music21
    return os.path.join(os.path.dirname(music21.__file__), 'corpus')


def exact(value):
    """A length of music21 as a fraction: it rounds to 1/65535 at the finest."""
    return Fraction(value).limit_denominator(65535)


def expanded(part):
    """A part with its repeats played out, as music21 does it."""
    from music21 import repeat
    signs = list(part.recurse().getElementsByClass((repeat.RepeatMark, 'Repeat', 'RepeatExpression')))
    signs += list(part.recurse().getElementsByClass('RepeatBracket'))
    if not signs:
        return part
    return part.expandRepeats()


def outside_notes(path):
    """What music21 hears: main notes (onset, length, pitch) with how often, graces by pitch, the end."""
    from music21 import converter, stream
    score = converter.parse(path, forceSource=True)
    if isinstance(score, stream.Opus):
        raise ValueError('an opus')
    score = score.toSoundingPitch()
    parts = [expanded(p) for p in score.parts]
    rows = [list(p.getElementsByClass(stream.Measure)) for p in parts]
    count = max(map(len, rows), default=0)
    lengths = [max((exact(r[i].highestTime) for r in rows if i < len(r)), default=Fraction(0)) for i in range(count)]
    first = [r[0] for r in rows if r]
    full = next((exact(m.barDuration.quarterLength) for m in first), Fraction(4))
    lead = Fraction(0)
    if count > 1 and 0 < lengths[0] < full:
        lead = full - lengths[0]
    starts = [lead]
    for length in lengths:
        starts.append(starts[-1] + length)
    main, graces = collections.Counter(), collections.Counter()
    for part in parts:
        stripped = part.stripTies()
        for start, measure in zip(starts, stripped.getElementsByClass(stream.Measure)):
            for note in measure.recurse().notes:
                if 'Harmony' in note.classes or 'Unpitched' in note.classes or 'PercussionChord' in note.classes:
                    continue
                if note.style.noteSize == 'cue':
                    continue
                onset = start + exact(note.getOffsetInHierarchy(measure))
                for pitch in note.pitches:
                    midi = int(pitch.ps + 0.5)
                    if note.duration.isGrace:
                        graces[midi] += 1
                    else:
                        main[onset, exact(note.quarterLength), midi] += 1
    return main, graces, lead


def own_notes(program, path):
    """What bandwright hears, or why it refuses."""
    done = subprocess.run([program, 'read', path, '--json', '-'], capture_output=True, text=True)
    if done.returncode != 0:
        return None, None, done.stderr.strip()
    answer = json.loads(done.stdout)
    quarter = answer['ticks_per_quarter']
    main, graces = collections.Counter(), collections.Counter()
    for line in answer['lines'].values():
        for note in line:
            if note.get('grace'):
                graces[note['pitch']] += 1
            else:
                main[Fraction(note['onset'], quarter), Fraction(note['duration'], quarter), note['pitch']] += 1
    return main, graces, '\n'.join(answer['warnings'])


def near(a, b):
    return abs(a[0] - b[0]) <= TICKS_OFF and abs(a[1] - b[1]) <= TICKS_OFF and a[2] == b[2]


def apart(ours, theirs):
    """Notes that only one side has; what differs by rounding alone is the same."""
    left, right = sorted((ours - theirs).elements()), sorted((theirs - ours).elements())
    for note in list(left):
        match = next((o for o in right if near(note, o)), None)
        if match:
            left.remove(note)
            right.remove(match)
    return left, right


def one(job):
    program, name = job
    path = os.path.join(corpus(), name)
    began = time.time()
    ours, own_graces, said = own_notes(program, path)
    with warnings.catch_warnings():
        warnings.simplefilter('ignore')
        try:
            theirs, graces, lead = outside_notes(path)
        except Exception as error:  # whatever stops the judge stops the comparison
            return name, 'unjudged', f'{type(error).__name__}: {error}', time.time() - began
    if ours is None:
        return name, 'refused', said, time.time() - began
    left, right = apart(ours, theirs)
    if own_graces != graces:
        return name, 'differs', f'graces {sorted((own_graces-graces).elements())} {sorted((graces-own_graces).elements())}', time.time() - began
    if left or right:
        show = lambda ns: ' '.join(f'{float(o):g}+{float(l):g}:{p}' for o, l, p in ns[:6])
        return name, 'differs', f'ours {len(left)} [{show(left)}] theirs {len(right)} [{show(right)}] of {sum(theirs.values())} | {said[:300]}', time.time() - began
    return name, 'same', sum(theirs.values()), time.time() - began


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--program', default='target/debug/bandwright')
    parser.add_argument('--names', nargs='*')
    options = parser.parse_args()
    names = options.names
    with multiprocessing.Pool(2) as pool:
        for name, kind, what, seconds in pool.imap_unordered(one, [(options.program, n) for n in names]):
            print(f'{kind}\t{seconds:.1f}\t{name}\t{what}', flush=True)


if __name__ == '__main__':
    main()
