"""A whole simulated trial through the board's own files, ending in the trial engine's result."""

from rig.cli.replay import replayed
from rig.physics.air import speed_of_sound
from rig.sensing.framing import LineSplitter, body_of
from rig.sensing.sentences import Data, Mark, decode, encode
from rig.simulator import read_scenario, simulate

SETTLING_ROWS = 4


def sentences(recording):
    return [decode(body_of(line)) for line in LineSplitter().feed(recording)]


def filled(values):
    """A gauge that said nothing in a row shows what it showed before."""
    last = next(value for value in values if value is not None)
    for value in values:
        last = value if value is not None else last
        yield last


def test_the_engine_reads_the_same_trial_from_the_firmware(board):
    """The chip, both gauges and the clock are played from a simulated trial; marks go between."""
    scenario = read_scenario("clean-box")
    recording, truth = simulate(scenario)
    played = sentences(recording)
    data = [sentence for sentence in played if isinstance(sentence, Data)]
    us_per_um = 2 / speed_of_sound(20.0)
    heard = board(
        seconds=(len(data) + SETTLING_ROWS) / 10 + 0.45,
        load=[row.load for row in data[:1] * SETTLING_ROWS + data],
        surface=[round(um * us_per_um) for um in filled([row.surface for row in data])],
        rim=[round(um * us_per_um) for um in filled([row.rim for row in data])],
    )
    assert not heard.stream.count.skipped and not heard.stream.count.lost
    lines, rows = [], iter(heard.lines)
    at_ms = skip = 0
    for sentence in played:
        if isinstance(sentence, Mark):
            lines.append(encode(Mark(at_ms, sentence.word, sentence.text)))
            continue
        if not isinstance(sentence, Data):
            continue
        for line in rows:
            lines.append(line)
            told = decode(body_of(line))
            if isinstance(told, Data):
                at_ms, skip = told.ms, skip + 1
                if skip > SETTLING_ROWS:
                    break
    (result,), _ = replayed([b"".join(lines)], scenario.setup, scenario.boats)
    (direct,), _ = replayed([recording], scenario.setup, scenario.boats)
    (happened,) = truth["trials"]
    assert result.held_items == direct.held_items == happened["held_items"]
    assert result.outcome == direct.outcome
    assert abs(result.held_g - direct.held_g) < 0.2
    assert result.sunk_at_s is not None and abs(result.sunk_at_s - happened["sunk_at_s"]) < 1.0
