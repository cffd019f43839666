"""Before, between and after the trials of a class. Pure: no clock, no file, no thread."""
