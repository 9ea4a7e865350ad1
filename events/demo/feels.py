"""What is said of how a car feels, from how it truly is."""

import random

from events.demo.truth import TrueEffect, Truth

PLACES = ("entry", "middle", "exit")
HANDS = {
    "pushes": ("far-left", "bit-left"),
    "turns": ("bit-left", "straight"),
    "loose": ("straight", "right"),
}
HELPS = -0.02  # s a lap: a change that does less leaves the feel as it was


class Feels:
    """What a driver says and a handler sees of a car that feels so, and other with a change."""

    def __init__(self, rng: random.Random, truth: Truth, effect: TrueEffect | None) -> None:
        self.random, self.truth = rng, truth
        where, felt = (effect.where, effect.felt) if effect else ("middle", "turns")
        if effect is None and rng.random() < 0.4:
            where, felt = rng.choice(PLACES), rng.choice(("pushes", "loose"))
        self.balance = {"A": {place: felt if place == where else "turns" for place in PLACES}}
        cured = effect is not None and effect.seconds < -0.02 and rng.random() < 0.75
        self.balance["B"] = dict.fromkeys(PLACES, "turns") if cured else self.balance["A"]

    def said(self, group: str) -> dict[str, str]:
        """Nothing now and then, and now and then not what it was."""
        if self.random.random() < self.truth.share("not_said"):
            return {}
        balance = self.balance[group]
        said = {place: self._heard(felt) for place, felt in balance.items()}
        hands = {
            "pushes": ("far-left", "bit-left"),
            "turns": ("bit-left", "straight"),
            "loose": ("straight", "right"),
        }
        said["hands"] = self.random.choice(hands[balance["middle"]])
        steering = "light" if "pushes" in balance.values() else "heavy"
        said["steering"] = steering if self.random.random() < 0.25 else "good"
        return said

    def saw(self, group: str) -> dict[str, str]:
        """What the handler saw, where somebody looked."""
        seen = self.random.random() < self.truth.share("handler")
        return dict(self.balance[group]) if seen else {}

    def _heard(self, felt: str) -> str:
        if self.random.random() >= self.truth.share("misheard"):
            return felt
        return self.random.choice(("turns", ""))
