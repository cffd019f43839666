"""From bytes to readings: framing, sentences, clock, calibration, and the ports they come from."""
