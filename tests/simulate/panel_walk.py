"""A person who plays with the switches of a control box at random, followed in real time.

Written apart from the search that it is to check: it takes the description as typed, lets Python work out the
rungs, draws every relay's time from its range, and knows neither ticks nor states. It only meets what chance
leads it to, so it proves nothing kept; but what it sees broken is broken.
"""

import math
import random
from collections import Counter

USUAL_MS = (10, 20)
LONG_WAIT_S = 30.0
# No hand is quicker from one switch to the next.
HAND_S = 0.1
# What a person does who wants to work; without it chance would hardly ever get a careful box to run.
GOOD_START = (
    *(("mains", "on"), ("master", "on"), ("estop", "out"), ("guard", "shut")),
    *(("dir", "off"), ("feed", "off"), ("start", "down"), ("start", "up"), ("dir", "fwd")),
)


class Walk:
    """One box, one random player."""

    def __init__(self, box, seed, *, run_down_s=(1.0, 4.0), braked_s=(0.3, 2.0)):
        self.box, self.random = box, random.Random(seed)
        self.run_down_s, self.braked_s = run_down_s, braked_s
        self.at = {name: said["init"] for name, said in box["switch"].items()}
        self.relays = {name: Relay(said, self.random) for name, said in box["relay"].items()}
        rungs = {("coil", name): said["coil"] for name, said in box["relay"].items()}
        rungs |= {("load", name): said["on"] for name, said in box["load"].items()}
        for name, said in box["motor"].items():
            rungs |= {(key, name): said[key] for key in ("fwd", "rev", "brake") if key in said}
        self.rungs = {key: compile(text, "rung", "eval") for key, text in rungs.items()}
        self.now = 0.0
        self.turning = dict.fromkeys(box["motor"], 0)
        self.still_at = dict.fromkeys(box["motor"], math.inf)
        self.drive_left = dict.fromkeys(box["motor"], -math.inf)
        self.brake_left = dict.fromkeys(box["motor"], -math.inf)
        self.cause = set()
        self.seen = Counter()
        self.begun = 0
        self.feeds = self._feeds()

    def play(self, actions):
        """Move a switch so many times; returns which rules were seen broken, and how often."""
        for _ in range(actions):
            if self.random.random() < 0.5:
                self._wait(self.random.choice((0.5, 3.0, LONG_WAIT_S)))
            self._play_once()
        return self.seen

    def _play_once(self):
        if self.random.random() < 0.05:
            for name, position in GOOD_START:
                self._towards(name, position)
        name = self.random.choice(list(self.at))
        positions = self.box["switch"][name]["pos"]
        here = positions.index(self.at[name])
        there = self.random.choice([one for one in (here - 1, here + 1) if 0 <= one < len(positions)])
        self._move(name, positions[there])

    def _towards(self, name, position):
        """Bring a switch where it should be, one position after the other."""
        positions = self.box["switch"].get(name, {"pos": [position]})["pos"]
        while self.at.get(name, position) != position:
            here, there = positions.index(self.at[name]), positions.index(position)
            self._move(name, positions[here + (1 if there > here else -1)])

    def _move(self, name, position):
        self.at[name] = position
        self.cause = {f"{name}:{position}"}
        self._changed()
        self._let_settle()
        self._wait(HAND_S)

    def _let_settle(self):
        """Follow every relay that moves until none does."""
        while moving := [relay for relay in self.relays.values() if relay.due < math.inf and not relay.slow]:
            self.now = min(relay.due for relay in moving)
            for relay in moving:
                if relay.due == self.now:
                    relay.move(self.now)
            self._changed()
        self._at_rest()

    def _wait(self, seconds):
        """Let slow things happen in their own time."""
        until = self.now + seconds
        while True:
            slow = [relay.due for relay in self.relays.values() if relay.slow]
            soonest = min([*slow, *self.still_at.values()], default=math.inf)
            if soonest > until:
                self.now = until
                return
            self.now = soonest
            for name, when in self.still_at.items():
                if when == soonest:
                    self.turning[name], self.still_at[name] = 0, math.inf
            self.cause = {"timer"}
            for relay in self.relays.values():
                if relay.slow and relay.due == soonest:
                    relay.move(self.now)
            self._changed()
            self._let_settle()

    def _closed(self):
        closed = {name: self.at[said["of"]] in said["closed"] for name, said in self.box["contact"].items()}
        for relay in self.relays.values():
            closed |= relay.contacts()
        return closed

    def _feeds(self):
        closed = self._closed()
        return {key: bool(eval(rung, {"__builtins__": {}}, closed)) for key, rung in self.rungs.items()}

    def _changed(self):
        before, after = self.feeds, self._feeds()
        for name, relay in self.relays.items():
            relay.follow(after["coil", name], self.now)
        self.feeds = after
        for name, said in self.box["motor"].items():
            source = "load", said["source"]
            was = self._way(before, name) if before[source] else 0
            way = self._way(after, name) if after[source] else 0
            self._motor(name, was, way, before.get(("brake", name), False), after.get(("brake", name), False))
        for name, said in self.box["load"].items():
            if said.get("kind") == "motion" and after["load", name] and not before["load", name]:
                self._began(name)

    def _way(self, feeds, motor):
        return feeds["fwd", motor] - feeds.get(("rev", motor), False)

    def _motor(self, name, was, way, braked_before, braked):
        gap_s = self.box["rules"]["gap_ms"] / 1000 - 1e-9
        if way and braked:
            self.seen["R1"] += 1
        if way and self.turning[name] == -way:
            self.seen["R6"] += 1
        if was and not way:
            self.drive_left[name] = self.now
        if braked_before and not braked:
            self.brake_left[name] = self.now
        if braked and not braked_before and self.now - self.drive_left[name] < gap_s:
            self.seen["R1b"] += 1
        if way and not was and self.now - self.brake_left[name] < gap_s:
            self.seen["R1b"] += 1
        if way and way != was:
            self._began(name)
        if way:
            self.turning[name], self.still_at[name] = way, math.inf
        elif self.turning[name] and (was or self.still_at[name] == math.inf):
            span = self.braked_s if "brake" in self.box["motor"][name] else self.run_down_s
            self.still_at[name] = self.now + self.random.uniform(*span)

    def _began(self, _name):
        """Count something that moves and has come on, and whether it was asked for."""
        self.begun += 1
        if self.cause & set(self.box["rules"]["start_actions"]) or "timer" in self.cause:
            return
        self.seen["R7"] += 1
        if self.cause & {"mains:on", "master:on"}:
            self.seen["R4"] += 1
        if "estop:out" in self.cause:
            self.seen["R3"] += 1
        if self.cause & {"mode:lathe", "mode:mill"}:
            self.seen["R5"] += 1

    def _at_rest(self):
        for name, said in self.box["motor"].items():
            driven = self.feeds["load", said["source"]] and self._way(self.feeds, name)
            if driven and self.at["estop"] == "in":
                self.seen["R2"] += 1
            if driven and name == "lathe" and self.at["guard"] == "open":
                self.seen["R8"] += 1
        for name, said in self.box["load"].items():
            if said.get("kind") == "motion" and self.feeds["load", name]:
                if self.at["estop"] == "in":
                    self.seen.update(("R2c", "R9"))
                elif "off" in (self.at["mains"], self.at["master"]):
                    self.seen["R9"] += 1


class Relay:
    """One relay in real time: where it is, whether its coil is fed, when it moves on."""

    def __init__(self, said, chance):
        self.said, self.random = said, chance
        self.phase, self.fed, self.due = "out", False, math.inf

    @property
    def slow(self):
        """Whether it is a timer that still holds."""
        return "slow_drop_s" in self.said and self.phase == "in" and not self.fed and self.due < math.inf

    def contacts(self):
        """Which of its contacts are closed."""
        said = self.said
        closed = dict.fromkeys(said.get("no", ()), self.phase == "in")
        return closed | dict.fromkeys(said.get("nc", ()), self.phase == "out")

    def follow(self, fed, now):
        """Let the coil be fed or not; a coil that changes its mind begins anew."""
        if fed == self.fed:
            return
        self.fed = fed
        if self.phase == ("in" if fed else "out"):
            self.due = math.inf
        elif self.phase == "between":
            self.due = now + self.said.get("transfer_ms", 0) / 1000
        elif not fed and "slow_drop_s" in self.said:
            self.due = now + self.said["slow_drop_s"]
        else:
            low, high = self.said.get("pickup_ms" if fed else "dropout_ms", USUAL_MS)
            self.due = now + self.random.uniform(low, high) / 1000

    def move(self, now):
        """Go one step on the way to where the coil wants it."""
        wanted = "in" if self.fed else "out"
        if self.phase != "between" and self.said.get("transfer_ms"):
            self.phase, self.due = "between", now + self.said["transfer_ms"] / 1000
        else:
            self.phase, self.due = wanted, math.inf
