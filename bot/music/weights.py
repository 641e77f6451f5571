"""What folk tunes tend to do, in numbers fitted by `python -m tests.fit`, not by hand.

Logarithms of factors: 0.7 makes a way on about twice as likely, -0.7 half as likely. Method,
corpus and licence status are in content/SOURCES.md, under Weights.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# A way on in a line, by the traits of traits.py.
LINE: Mapping[str, float] = MappingProxyType({
    "repeat": 1.69, "third up": 0.46, "fourth up": 1.26, "fourth down": 0.1,
    "fifth down": -0.58, "sixth down": -1.22, "wider up": -2.04, "wider down": -3.15,
    "to so,": 0.83, "to re": 0.6, "to mi": 0.94, "to fa": 0.81, "to so": 0.85, "to ti": -1.6,
    "to do'": -1.45, "below so,": -0.36, "above do'": -1.78, "do, first beat": 0.88,
    "step, first beat": 1.91, "leap, first beat": -1.02, "do, middle beat": 0.66,
    "step, middle beat": 1.56, "leap, middle beat": -1.63, "up, middle beat": -0.37,
    "tonic chord, other beat": -0.26, "do, other beat": 0.6, "low so, other beat": 0.34,
    "step, other beat": 0.99, "leap, other beat": -1.48, "up, other beat": -0.39,
    "tonic chord, between beats": -0.42, "do, between beats": 0.53, "step, between beats": 1.3,
    "leap, between beats": -1.72, "up, between beats": -0.39, "step, short": 0.22,
    "do, long": 0.31, "repeat, long": -0.39, "fa, long": -0.63, "step goes on by step": 1.16,
    "step goes on by skip": -0.07, "third goes on by third": 0.4, "third up is filled": 0.4,
    "third down is filled": 0.02, "third up goes on by step": -0.32,
    "third up turns back": -0.25, "step up, then third down": 0.35,
    "step down, then third up": -0.23, "step up, then again": -0.13, "wide leap turns": 0.58,
    "leap goes on": -0.47, "leap goes on by skip": -0.28, "returns": 0.3,
    "returns on a beat": -0.28, "step goes on, between beats": -0.2, "ti-do": 0.99,
    "fa-mi": 0.68, "mi-re": 0.35, "so-fa": -0.49, "do-ti": -0.48, "mi-fa": -0.25,
    "so-do up": 0.92, "fa-re": 1.56, "re-ti": 0.57, "la-fa": -0.71, "do-mi": -0.3,
    "fa-la": 0.98, "do-fa": -0.73, "ti-re": 1.07, "fa-ti": 1.72, "so-fa up": 2.6,
    "skip inside I": 1.22, "leap inside V": 0.78, "leap from ti": -0.89, "high do-ti": 1.34,
    "octave": 0.24,
})  # fmt: skip

# How much likelier the likely is than in song: chances are raised to this power.
SHARPNESS = 1.2

# For each measure of a single phrase, of a first and of a last one: how much height
# (in fours of scale steps above the middle) and its square count, and being do.
CURVE = (
    ((0.23, -0.33, 0.34), (0.05, -0.09, -0.23), (-0.39, -0.49, -0.38), (-0.96, -0.93, -0.48)),
    ((0.11, -0.45, 0.21), (-0.13, -0.03, -0.19), (0.29, -0.14, -0.2), (-0.26, -0.07, -0.07)),
    ((0.35, -0.03, 0.38), (0.17, -0.11, -0.36), (-0.42, -0.42, -0.42), (-0.79, -0.62, -0.43)),
)

# Each degree (do first) as the last tone of the first of two phrases.
LAST = (0.14, -0.04, -0.04, -0.63, 0.41, -1.27, -1.04)

# Scale steps above do to start on.
START: Mapping[int, float] = MappingProxyType({
    -3: -2.14, -2: -4.67, -1: -3.57, 0: -1.11, 1: -2.18, 2: -1.81, 3: -3.28, 4: -1.62, 5: -3.97,
    6: -5.36, 7: -3.42,
})  # fmt: skip

# A measure of rhythm, by the traits of measure_traits.py.
MEASURE: Mapping[str, float] = MappingProxyType({
    "close of two: 0 beats of rest behind": 4.01, "close of two: 1 beats of rest behind": 1.93,
    "close of two: at most 1 notes a beat": -0.37,
    "close of two: at most 1/2 notes a beat": 1.01,
    "close of two: at most 3/2 notes a beat": -0.1, "close of two: ends short": -1.15,
    "close of two: ends with 1 beats": 1.49, "close of two: ends with 2 beats": -0.33,
    "close of two: more notes a beat": -0.54, "close of two: one cell over and over": -2.28,
    "close: 0 beats of rest behind": 0.72, "close: 1 beats of rest behind": 3.35,
    "close: 2 beats of rest behind": 1.38, "close: at most 1 notes a beat": -0.52,
    "close: at most 1/2 notes a beat": 1.97, "close: at most 3/2 notes a beat": -1.22,
    "close: at most 3/4 notes a beat": 0.38, "close: ends short": -2.87,
    "close: ends with 1 beats": -1.05, "close: ends with 2 beats": 1.1,
    "close: ends with 3 beats": 0.99, "close: ends with 4 beats": 1.83,
    "close: more notes a beat": -0.62, "close: one cell over and over": -2.07,
    "e e on another beat": 1.47, "e e on the first beat": 0.59, "e e on the middle beat": -0.27,
    "e e then e e": 0.94, "e e then e re": 0.21, "e e then e s s": 0.56, "e e then e. s": -1.0,
    "e e then h": 0.64, "e e then q": 0.96, "e e then rq": -0.14, "e e then s s s s": -0.26,
    "e q e on the first beat": -2.01, "e q e on the middle beat": -0.86,
    "e re on another beat": -1.67, "e s s on another beat": -1.51,
    "e s s on the first beat": -1.8, "e s s on the middle beat": -1.64, "e s s then e e": -0.88,
    "e s s then q": -0.14, "e. s on another beat": -1.23, "e. s on the first beat": -0.95,
    "e. s on the middle beat": -2.01, "e. s then e e": 1.04, "e. s then e. s": 1.39,
    "e. s then h": 2.59, "e. s then q": 1.06, "e. s then s s s s": 0.92,
    "flow of two: 0 beats of rest behind": 0.79, "flow of two: 1 beats of rest behind": 0.18,
    "flow of two: at most 1 notes a beat": -0.65,
    "flow of two: at most 1/2 notes a beat": -0.14,
    "flow of two: at most 3/2 notes a beat": 0.39, "flow of two: ends short": -0.12,
    "flow of two: ends with 1 beats": 1.21, "flow of two: ends with 2 beats": -1.08,
    "flow of two: more notes a beat": 0.39, "flow of two: one cell over and over": -0.72,
    "flow: 0 beats of rest behind": -0.48, "flow: 1 beats of rest behind": 0.83,
    "flow: 2 beats of rest behind": -0.44, "flow: at most 1/2 notes a beat": 1.37,
    "flow: at most 3/2 notes a beat": -1.12, "flow: at most 3/4 notes a beat": 0.79,
    "flow: ends short": -1.38, "flow: ends with 1 beats": 0.4, "flow: ends with 2 beats": 1.23,
    "flow: ends with 3 beats": -0.67, "flow: ends with 4 beats": 0.55,
    "flow: more notes a beat": -1.08, "flow: one cell over and over": -0.42,
    "h on another beat": -0.72, "h on the first beat": 1.79, "h on the middle beat": 1.12,
    "h then e e": 0.95, "h then h": 2.21, "h then q": 2.12, "h then q. e": 0.57,
    "h then rh": 2.89, "h then rq": -0.17, "h. on the first beat": 1.52, "h. then q": 2.12,
    "h. then rq": 0.56, "half of two: 0 beats of rest behind": 2.24,
    "half of two: 1 beats of rest behind": 0.97, "half of two: at most 1 notes a beat": -0.37,
    "half of two: at most 1/2 notes a beat": 1.0,
    "half of two: at most 3/2 notes a beat": -0.47, "half of two: ends short": -0.26,
    "half of two: ends with 1 beats": 1.5, "half of two: ends with 2 beats": -1.24,
    "half of two: more notes a beat": -0.17, "half of two: one cell over and over": -1.65,
    "half: 0 beats of rest behind": 0.27, "half: 1 beats of rest behind": 2.13,
    "half: 2 beats of rest behind": 0.8, "half: at most 1 notes a beat": -0.19,
    "half: at most 1/2 notes a beat": 2.05, "half: at most 3/2 notes a beat": -1.07,
    "half: at most 3/4 notes a beat": 0.29, "half: ends short": -1.96,
    "half: ends with 1 beats": -0.46, "half: ends with 2 beats": 0.85,
    "half: ends with 3 beats": 0.52, "half: ends with 4 beats": 1.05,
    "half: more notes a beat": -1.08, "half: one cell over and over": -1.08,
    "lead of two: 0 beats of rest behind": -0.88, "lead of two: 1 beats of rest behind": -0.11,
    "lead of two: at most 1 notes a beat": -0.52,
    "lead of two: at most 1/2 notes a beat": -0.08,
    "lead of two: at most 3/2 notes a beat": -0.4, "lead of two: ends short": 0.24,
    "lead of two: ends with 1 beats": 0.09, "lead of two: ends with 2 beats": -0.34,
    "lead of two: more notes a beat": 0.99, "lead of two: one cell over and over": 0.56,
    "lead: 0 beats of rest behind": -1.1, "lead: 1 beats of rest behind": -1.79,
    "lead: 2 beats of rest behind": -1.09, "lead: at most 1 notes a beat": -0.29,
    "lead: at most 1/2 notes a beat": 1.67, "lead: at most 3/2 notes a beat": -0.62,
    "lead: at most 3/4 notes a beat": 0.08, "lead: ends short": -0.28,
    "lead: ends with 1 beats": 0.77, "lead: ends with 2 beats": -0.21,
    "lead: ends with 3 beats": -0.95, "lead: ends with 4 beats": 0.67,
    "lead: more notes a beat": -0.83, "lead: one cell over and over": 1.19,
    "open of two: 0 beats of rest behind": -1.2, "open of two: 1 beats of rest behind": -0.59,
    "open of two: at most 1 notes a beat": -0.28,
    "open of two: at most 1/2 notes a beat": -1.18,
    "open of two: at most 3/2 notes a beat": 0.47, "open of two: ends short": 0.55,
    "open of two: ends with 1 beats": 0.44, "open of two: ends with 2 beats": -0.99,
    "open of two: more notes a beat": 0.99, "open of two: one cell over and over": 0.08,
    "open: 0 beats of rest behind": -0.92, "open: 1 beats of rest behind": -1.51,
    "open: 2 beats of rest behind": -1.65, "open: at most 1 notes a beat": -0.36,
    "open: at most 1/2 notes a beat": 1.49, "open: at most 3/2 notes a beat": -1.05,
    "open: at most 3/4 notes a beat": 0.68, "open: ends with 1 beats": 0.97,
    "open: ends with 2 beats": 0.15, "open: ends with 3 beats": -0.12,
    "open: ends with 4 beats": -0.99, "open: more notes a beat": -0.76,
    "open: one cell over and over": 0.68, "q on another beat": -0.06,
    "q on the first beat": 0.37, "q on the middle beat": -0.48, "q then e e": 0.51,
    "q then e re": 0.72, "q then e. s": 0.47, "q then h": 1.91, "q then q": 2.59,
    "q then q. e": 1.29, "q then re e": 2.3, "q then rq": 1.02, "q then s s s s": -0.66,
    "q. e on another beat": 1.9, "q. e on the first beat": 1.58,
    "q. e on the middle beat": 1.44, "q. e then e e": 1.73, "q. e then h": 0.89,
    "q. e then q": 2.92, "q. e then q. e": 1.33, "re e on another beat": -2.34,
    "rh on the middle beat": -0.99, "rq on another beat": -2.08, "rw on the first beat": -0.12,
    "s s e on another beat": -2.42, "s s e on the first beat": -1.6,
    "s s e on the middle beat": -1.05, "s s e then e e": -1.25, "s s e then q": -1.06,
    "s s s s on another beat": -1.31, "s s s s on the first beat": -2.49,
    "s s s s on the middle beat": -0.58, "s s s s then e e": -0.12, "s s s s then e re": 1.5,
    "s s s s then q": -0.08, "two halves alike": 1.57, "w on the first beat": 3.12,
})  # fmt: skip

# Facts about a whole line, by the names of critic.py.
CRITIC: Mapping[str, float] = MappingProxyType({
    "repeats": 1.58, "steps": -2.92, "thirds": 1.63, "leaps": 4.73, "wide leaps": 10.7,
    "rises": 2.68, "turns": 1.34, "goes on": 0.27, "two steps on": -1.65, "to and fro": -3.01,
    "leaps unanswered": -1.09, "longest repeat": -0.297, "notes a measure": 0.522,
    "compass": -0.0892, "top": -0.0544, "height": 0.223, "spread": -0.963, "tops": -0.145,
    "first top": 0.794, "rise of the second half": 0.00849, "do": -0.677, "re": 3.27,
    "fa": 6.85, "so": 1.68, "la": 7.85, "ti": 6.79, "tonic on first beats": 0.0679,
    "long notes": 0.309, "short notes": -2.42, "dotted": 6.39, "last note": -0.0489,
    "echo of two": 4.27, "echo of three": 3.26, "echo of four": 1.09, "measures again": -0.129,
    "rhythms again": 1.07, "shapes again": 6.73, "half begins again": -3.37,
    "rhythm of half begins again": -0.565, "rhythm of third measure": -0.32,
    "rhythm at once again": 0.403,
})  # fmt: skip
