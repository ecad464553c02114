"""Stand-in for the Wi-Fi station."""

import world


class WLAN:
    def __init__(self, kind):
        pass

    def active(self, on):
        pass

    def connect(self, name, password):
        world.report({"joins": int(world.now)})

    def disconnect(self):
        pass

    def isconnected(self):
        return world.wifi_here()
