"""What is wrong with a port, in one line for the teacher: what happened, one thing to do."""

import errno

_ABSENT = {errno.ENOENT, errno.ENXIO, errno.ENODEV}
_FORBIDDEN = {errno.EACCES, errno.EPERM}
_HELD = {errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK}
_PLUG = "Push the board's USB plug in until it clicks; the trial so far is kept."


def not_opened(port: str, err: OSError) -> str:
    """Why a port could not be opened."""
    if err.errno in _ABSENT:
        return f"{port} is not there. {_PLUG}"
    if err.errno in _FORBIDDEN:
        return (
            f"This user may not open {port}. Add the user to the group dialout"
            " (sudo usermod -aG dialout $USER), log out and in again."
        )
    if err.errno in _HELD:
        return f"Another program holds {port}. Close that program; the rig then goes on by itself."
    if err.errno == errno.EIO:
        return f"{port} went away. {_PLUG}"
    return (
        f"{port} cannot be opened as a serial port. Put the board's port into the rig file,"
        ' as in source = "serial:/dev/ttyACM0".'
    )


def broken_off(port: str, err: OSError) -> str:
    """Why an open port ended."""
    if "returned no data" in str(err):  # pyserial's words; Linux shows both causes alike
        return (
            f"{port} promised data and gave none: its plug came out, or a second program reads it"
            " too. Push the plug in until it clicks; if it is in, close the other program."
        )
    return f"{port} went away. {_PLUG}"


def silent(port: str, silent_s: float) -> str:
    """The port is open and nothing comes."""
    return (
        f"Nothing from the board on {port} for {silent_s:g} s."
        " Press its reset button; the trial so far is kept."
    )


def no_sentence(port: str, baud: int) -> str:
    """Bytes come, and none of them make a sentence of ours."""
    return (
        f"What comes from {port} is no sentence of the rig's board."
        f" Check that the right board is plugged in there and that it speaks at {baud} baud."
    )


def other_board(port: str, is_board: str, was_board: str) -> str:
    """Another board answers."""
    return (
        f'The board on {port} calls itself "{is_board}"; this rig began with "{was_board}".'
        " Plug that one in again, or stop the rig and start it anew."
    )
