"""Runs at every start and after every sleep. Everything it does is in station.py."""

import settings
import station

station.wake(settings)
