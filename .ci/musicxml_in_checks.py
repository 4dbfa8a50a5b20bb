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
import zipfile
from fractions import Fraction
from xml.etree import ElementTree

TICKS_OFF = Fraction(1, 480)


def corpus():
    import music21
    return os.path.join(os.path.dirname(music21.__file__), 'corpus')


def exact(value):
    """A length of music21 as a fraction: it rounds to 1/65535 at the finest."""
    return Fraction(value).limit_denominator(65535)


def expanded(part):
    """A part with its repeats played out, as music21 does it.

    Where a repeat ends that has no sign of its own where it begins, music21 goes back to the beginning of the piece and
    plays what is between over and over; the next repeat begins where the last one ended. That sign is put in.
    """
    from music21 import bar, repeat, stream
    measures = list(part.getElementsByClass(stream.Measure))
    ends = lambda m: isinstance(m.rightBarline, bar.Repeat)
    begins = lambda m: isinstance(m.leftBarline, bar.Repeat)
    expressions = list(part.recurse().getElementsByClass(repeat.RepeatExpression))
    if not expressions and not any(map(ends, measures)):
        return part
    bracketed = {id(m) for b in part.recurse().getElementsByClass('RepeatBracket') for m in b.getSpannedElements()}
    for before, measure in zip(measures, measures[1:]):
        if ends(before) and not begins(measure) and id(measure) not in bracketed and id(before) not in bracketed:
            measure.leftBarline = bar.Repeat(direction='start')
    last = max((i for i, m in enumerate(measures) if ends(m)), default=-1)
    for measure in measures[last + 1:]:
        if begins(measure):
            measure.leftBarline = None
    return part.expandRepeats()


def score_text(path):
    """The bytes of a score, unpacked where it is packed."""
    if not path.endswith('.mxl'):
        with open(path, 'rb') as file:
            return file.read()
    with zipfile.ZipFile(path) as archive:
        names = [n for n in archive.namelist() if n.endswith('.xml') and not n.startswith('META-INF')]
        return archive.read(names[0])


def measure_lengths(path):
    """How far each measure of a file is filled in the fullest part, in quarters; by adding its durations up.

    music21 lays each part's measures end to end by themselves, so that parts drift apart where one of them is filled
    less (it also counts some trills and forwards twice). The standard has the measures of all parts begin together.
    """
    lengths = []
    root = ElementTree.fromstring(score_text(path))
    for part in root.iter('part'):
        divisions = Fraction(1)
        for index, measure in enumerate(part.findall('measure')):
            now = reach = Fraction(0)
            for element in measure:
                if element.tag == 'attributes' and element.find('divisions') is not None:
                    divisions = Fraction(element.findtext('divisions').strip())
                length = Fraction(element.findtext('duration', '0').strip()) / divisions
                if element.tag == 'note' and element.find('chord') is None or element.tag == 'forward':
                    now += length
                elif element.tag == 'backup':
                    now -= length
                reach = max(reach, now)
            if index == len(lengths):
                lengths.append(Fraction(0))
            lengths[index] = max(lengths[index], reach)
    return lengths


def outside_notes(path):
    """What music21 hears: main notes (onset, length, pitch) with how often, and graces by pitch."""
    from music21 import converter, stream
    score = converter.parse(path, forceSource=True)
    if isinstance(score, stream.Opus):
        raise ValueError('an opus')
    lengths = measure_lengths(path)
    for part in score.parts:
        for index, measure in enumerate(part.getElementsByClass(stream.Measure)):
            measure.editorial.place = index
    first = score.parts[0].getElementsByClass(stream.Measure)[0]
    full = exact(first.barDuration.quarterLength)
    score = score.toSoundingPitch()
    parts = [expanded(p) for p in score.parts]
    orders = [[m.editorial.place for m in p.getElementsByClass(stream.Measure)] for p in parts]
    if any(order != orders[0] for order in orders):
        raise ValueError('parts are played in different orders')
    order = orders[0]
    lead = Fraction(0)
    if len(order) > 1 and 0 < lengths[0] < full and lengths[0] + lengths[order[1]] != full:
        lead = full - lengths[0]
    starts = [lead]
    for place in order:
        starts.append(starts[-1] + (lengths[place] or full))
    main, graces = collections.Counter(), collections.Counter()
    for part in parts:
        sounded = []
        for start, measure in zip(starts, part.getElementsByClass(stream.Measure)):
            for element in measure.recurse().notes:
                if {'Harmony', 'Unpitched', 'PercussionChord'} & set(element.classes):
                    continue
                onset = start + exact(element.getOffsetInHierarchy(measure))
                for note in element.notes if element.isChord else [element]:
                    if note.style.noteSize == 'cue':
                        continue
                    midi = int(note.pitch.ps + 0.5)
                    if element.duration.isGrace:
                        graces[midi] += 1
                    else:
                        tie = note.tie.type if note.tie else None
                        sounded.append((onset, exact(element.quarterLength), midi, tie))
        main.update(joined(sounded))
    return main, graces


def joined(notes):
    """Tied notes as one: by pitch, across voices; music21's own way leaves chords apart that are tied in part."""
    told = {'stop': 0, 'continue': 0}
    done, open_ties = [], collections.defaultdict(list)
    for onset, length, midi, tie in sorted(notes, key=lambda n: (n[0], n[2], told.get(n[3], 1))):
        waiting = open_ties[midi, onset]
        if waiting:
            place = waiting.pop()
            done[place][1] += length
        else:
            place = len(done)
            done.append([onset, length, midi])
        if tie in ('start', 'continue'):
            open_ties[midi, onset + length].append(place)
    return (tuple(note) for note in done)


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
            theirs, graces = outside_notes(path)
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
