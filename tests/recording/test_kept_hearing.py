"""What a recording told, written down as JSON and read again: the same, its texts still translatable."""

import json

from tests.recording.test_recording import coded, sound, wav

from sparkout.core.phrase import Phrase
from sparkout.recording.asked import beside, listened_to
from sparkout.recording.kept import COLUMNS, hearing_from_data

SAID = {"blades": 11, "balls": 9, "ball_diameter": "7.94 mm", "pitch_diameter": "39.04 mm", "others": "a {belt} 90 Hz"}


def test_there_and_back() -> None:
    heard = listened_to(coded(sound(), "webm", "libopus"), beside(SAID))
    again = hearing_from_data(json.loads(json.dumps(heard.as_data(), allow_nan=False)))
    assert again == heard
    assert again.bearing is not None
    assert len(again.bearing.heights) <= COLUMNS
    assert again.notes
    for note in again.notes:
        assert isinstance(note, Phrase)
        assert note.template != str(note)


def test_the_thinned_curve_keeps_every_peak_of_a_named_line() -> None:
    heard = listened_to(wav(sound()), beside({**SAID, "others": None}))
    assert heard.bearing is not None
    line = heard.bearing.fault
    assert line is not None
    near = [h for f, h in zip(heard.bearing.frequencies, heard.bearing.heights, strict=True) if abs(f - line.found) < 2]
    assert max(near) > 20
