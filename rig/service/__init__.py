"""The service: one rig, its records and its live feed, kept running."""
