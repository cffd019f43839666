"""Stands in for MicroPython's `time`: the world's clock, wrapping as on a board."""

from world import ACCESS_US, WRAP, world


def ticks_us():
    world.spend(ACCESS_US)
    return world.now_us % WRAP


def ticks_ms():
    world.spend(ACCESS_US)
    return world.now_us // 1000 % WRAP


def ticks_diff(end, start):
    half = WRAP // 2
    return (end - start + half) % WRAP - half


def sleep_us(us):
    world.spend(us)
