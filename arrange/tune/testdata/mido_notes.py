"""Prints, for each MIDI file named, its notes as one line of JSON, read and timed with mido."""
import collections
import json
import sys

import mido
from mido.midifiles import meta

# mido refuses impossible key signatures, which have no part in this comparison.
meta.MetaSpec_key_signature.decode = lambda self, message, data: setattr(message, "key", "C")

for path in sys.argv[1:]:
    file = mido.MidiFile(path)
    tempos = []
    for track in file.tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "set_tempo":
                tempos.append((tick, message.tempo))
    tempos.sort(key=lambda change: change[0])

    def milliseconds(tick):
        seconds, last, tempo = 0, 0, 500000
        for at, change in tempos:
            if at > tick:
                break
            seconds += mido.tick2second(at - last, file.ticks_per_beat, tempo)
            last, tempo = at, change
        return 1000 * (seconds + mido.tick2second(tick - last, file.ticks_per_beat, tempo))

    notes = []
    for number, track in enumerate(file.tracks, 1):
        tick, sounding = 0, collections.defaultdict(collections.deque)
        for message in track:
            tick += message.time
            if message.type not in ("note_on", "note_off"):
                continue
            queue = sounding[message.channel, message.note]
            if message.type == "note_on" and message.velocity > 0:
                queue.append(len(notes))
                notes.append({"track": number, "channel": message.channel + 1, "pitch": message.note,
                              "velocity": message.velocity, "onset": milliseconds(tick)})
            elif queue:
                notes[queue.popleft()]["end"] = milliseconds(tick)
        for queue in sounding.values():
            for index in queue:
                notes[index]["end"] = milliseconds(tick)
    print(json.dumps(notes))
