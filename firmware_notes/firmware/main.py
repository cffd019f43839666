"""Runs by itself when the board gets power."""

import select
import sys
from time import sleep_us

import settings
import wire
from board import Board
from machine import WDT, Pin

NAP_US = 500


def main():
    if Pin(settings.SERVICE_PIN, Pin.IN, Pin.PULL_UP).value() == 0:
        return  # somebody wants to change the files
    board = Board(sys.stdout.buffer.write)  # the buffer: text would change the line ends
    ear = wire.Ear()
    host = select.poll()
    host.register(sys.stdin, select.POLLIN)
    watchdog = WDT(timeout=settings.WATCHDOG_MS)
    board.greet()
    while True:
        board.step()
        while host.poll(0):
            byte = sys.stdin.buffer.read(1)
            if not byte:
                break
            if ear.asked(byte):
                board.greet()
        watchdog.feed()  # here and nowhere else: a loop that hangs anywhere is started anew
        sleep_us(NAP_US)


main()
