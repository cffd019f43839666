"""tubrig: a sensor-backed test-rig logger for the classroom float-load challenge."""

__version__ = "0.1.0"
