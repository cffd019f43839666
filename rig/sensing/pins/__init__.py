"""A rig on the computer's own pins: amplifier and echo gauges without a board between."""
