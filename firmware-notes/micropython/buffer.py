"""Readings that wait, in flash, until the broker has acknowledged them.

One line a reading:    <checksum> <instant> <sensor> <quantities, as they will be sent>
The instant is UTC seconds since 1970, or `?<life>:<seconds>` while the clock is not set: seconds of a clock that started
with that life. Lines stand in files named <number>-<thinness>.log. A torn last line fails its checksum and is skipped.

Full: the two oldest files of the least thinned kind become one by leaving out every second instant. A long absence of
Wi-Fi costs detail, evenly, and leaves no hole; the newest file is never thinned.
"""

import binascii
import os

# Readings that can no longer be dated are kept aside here, for a person to look at.
UNDATED = "undated.txt"
UNDATED_BYTES = 16384


def exists(path):
    try:
        os.stat(path)
    except OSError:
        return False
    return True


def seal(text):
    return "%08x %s\n" % (binascii.crc32(text.encode()) & 0xFFFFFFFF, text)


def unseal(line):
    """The text of an undamaged line, or None."""
    if len(line) < 10 or line[-1] != "\n":
        return None
    text = line[9:-1]
    return text if seal(text) == line else None


class Buffer:
    def __init__(self, folder, most_files, lines_per_file):
        self.folder = folder
        self.most_files = most_files
        self.lines_per_file = lines_per_file
        if not exists(folder):
            os.mkdir(folder)

    def path(self, name):
        return self.folder + "/" + name

    def files(self):
        return sorted(name for name in os.listdir(self.folder) if name.endswith(".log"))

    def texts(self, name):
        found = []
        with open(self.path(name), "rb") as file:
            for raw in file:
                try:
                    text = unseal(raw.decode())
                except UnicodeError:
                    text = None
                if text is not None:
                    found.append(text)
        return found

    def keep(self, instant, readings):
        """instant: UTC seconds, or the text of an undated one. readings: pairs of sensor and quantities as text."""
        lines = "".join(seal("%s %s %s" % (instant, sensor, body)) for sensor, body in readings)
        name = self.open_file()
        with open(self.path(name), "ab") as file:
            file.write(lines.encode())
        self.thin()

    def open_file(self):
        """The file to add to: the newest if it is untouched by thinning, whole and not full, else a new one."""
        names = self.files()
        if not names:
            return "00000001-0.log"
        newest = names[-1]
        number, thinness = split(newest)
        if thinness == 0:
            with open(self.path(newest), "rb") as file:
                content = file.read()
            if content.endswith(b"\n") and content.count(b"\n") < self.lines_per_file:
                return newest
        return "%08d-0.log" % (number + 1)

    def write_whole(self, name, texts):
        """Puts a whole file in place of another, or leaves the other as it was."""
        with open(self.path("new.tmp"), "wb") as file:
            file.write("".join(seal(text) for text in texts).encode())
        os.rename(self.path("new.tmp"), self.path(name))

    def thin(self):
        names = self.files()
        while len(names) > self.most_files:
            first, second = least_thinned_pair(names[:-1])
            number, thinness = split(first)
            name = "%08d-%d.log" % (number, max(thinness, split(second)[1]) + 1)
            # If the power fails before both are removed, some readings are here twice: the same ones, to the digit.
            self.write_whole(name, every_second_instant(self.texts(first) + self.texts(second)))
            os.remove(self.path(first))
            os.remove(self.path(second))
            names = self.files()

    def date(self, life, forward):
        """The clock was put forward: writes true instants over those of this life, and sets older lives aside."""
        for name in self.files():
            texts = self.texts(name)
            if not any(is_undated(text) for text in texts):
                continue
            dated = []
            lost = []
            for text in texts:
                if not is_undated(text):
                    dated.append(text)
                    continue
                instant, rest = text.split(" ", 1)
                of_life, seconds = instant[1:].split(":")
                if int(of_life) == life:
                    dated.append("%d %s" % (int(seconds) + forward, rest))
                else:
                    lost.append(text)
            self.set_aside(lost)
            self.write_whole(name, dated)

    def set_aside(self, texts):
        if not texts:
            return
        path = self.path(UNDATED)
        if exists(path) and os.stat(path)[6] > UNDATED_BYTES:
            os.rename(path, self.path("older-" + UNDATED))
        with open(path, "ab") as file:
            file.write("".join(seal(text) for text in texts).encode())

    def ready(self, name):
        """The readings of a file that can be sent: {sensor: [JSON object, ...]}, oldest first."""
        messages = {}
        for text in self.texts(name):
            if is_undated(text):
                continue
            instant, sensor, body = text.split(" ", 2)
            messages.setdefault(sensor, []).append('{"time":%s,%s}' % (instant, body))
        return messages

    def sent(self, name):
        """Everything in the file that could be sent was acknowledged."""
        undated = [text for text in self.texts(name) if is_undated(text)]
        if undated:
            self.write_whole(name, undated)
        else:
            os.remove(self.path(name))


def split(name):
    number, thinness = name[:-4].split("-")
    return int(number), int(thinness)


def least_thinned_pair(names):
    pairs = [(a, b) for a, b in zip(names, names[1:]) if split(a)[1] == split(b)[1]]
    if not pairs:
        return names[0], names[1]
    least = min(split(first)[1] for first, _ in pairs)
    for pair in pairs:
        if split(pair[0])[1] == least:
            return pair


def is_undated(text):
    return text[0] == "?"


def every_second_instant(texts):
    kept = []
    last = None
    keep = False
    for text in texts:
        instant = text.split(" ", 1)[0]
        if instant != last:
            last = instant
            keep = not keep
        if keep:
            kept.append(text)
    return kept
