"""Stands in for the `onewire` module that every MicroPython board brings along."""

from world import crc8, thermometer


class OneWireError(Exception):
    pass


class OneWire:
    def __init__(self, pin):
        pass

    def reset(self, required=False):
        there = thermometer.reset()
        if required and not there:
            raise OneWireError
        return there

    def writebyte(self, byte):
        thermometer.write(byte)

    def readinto(self, buffer):
        buffer[:] = thermometer.read()

    def crc8(self, data):
        return crc8(data)
