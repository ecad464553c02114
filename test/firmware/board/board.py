"""Powers up a simulated board and lets it wake a number of times. Its flash is the current folder.

Under CPython: `python3 board.py '[{"folder": flash, "scenario": {...}}, ...]'`. Under MicroPython `run` is called.
"""

import json
import sys

import board_time
import world

sys.modules["time"] = board_time


def run(scenario, in_flash):
    world.power_up(scenario)
    if "" not in sys.path:
        sys.path.insert(0, "")
    before = set(sys.modules)
    for _ in range(scenario["wakes"]):
        for name in [name for name in sys.modules if name not in before]:
            del sys.modules[name]
        world.report({"wake": int(world.now)})
        try:
            with in_flash:
                with open("main.py") as file:
                    program = file.read()
                exec(program, {"__name__": "__main__"})
        except world.Asleep:
            continue
        world.report({"awake": int(world.now)})
        return
    world.report({"moments": world.moments})


def main():
    """Each life of a board in a process of its own, one after the other, so that a power cut is the end of a process."""
    import os

    import cpython

    sys.modules["socket"] = cpython.Sockets
    for number, life in enumerate(json.loads(sys.argv[1])):
        sys.stdout.flush()
        child = os.fork()
        if child == 0:
            os.chdir(life["folder"])
            run(life["scenario"], cpython.InFlash())
            sys.stdout.flush()
            os._exit(0)
        _, status = os.waitpid(child, 0)
        world.report({"life": number, "code": os.waitstatus_to_exitcode(status)})


if __name__ == "__main__":
    main()
