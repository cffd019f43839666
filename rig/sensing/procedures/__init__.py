"""Calibrations and checks as they go on: steps, steady readings, results. Pure."""
