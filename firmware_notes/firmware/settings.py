"""What this board is, and which pin goes where. The only file to change for your wiring."""

BOARD = "tub-board"  # another name for every board: the host tells them apart by it
FIRMWARE = "1"

SPS = 10  # what the amplifier's RATE pin is wired for: 10 (low) or 80 (high)
GAIN = 128  # 128 or 64: channel A; 32: channel B

CLOCK_PIN = 2  # amplifier PD_SCK
DATA_PIN = 3  # amplifier DOUT
SURFACE_PINS = (4, 5)  # trigger and echo of the gauge over the water; None without one
RIM_PINS = (6, 7)  # and of the one over the flag
WATER_PIN = 8  # thermometer on a 1-wire line; None without one
SERVICE_PIN = 15  # tied to ground at power-up: the board stays still, for a change of files

PING_EVERY_MS = 60  # between two pings, so that the last echo has died away
ECHO_LIMIT_US = 10_000  # an echo later than this is none: 1.7 m
WATCHDOG_MS = 2000  # a loop that hangs so long is started anew
