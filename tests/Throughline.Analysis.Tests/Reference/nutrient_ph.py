"""Builds, adjusts, calibrates and tests units of demo/nutrient-ph in plain NumPy, from equations written out by hand: no matrix, no law and no random number
comes from the engine.

Reads one request from standard input:
    {"figures": file, "names": [...], "units": n, "noise": codes, "results": file, "block": units at a time, "repeat": times}
`figures` holds doubles, n for each name in turn: what was drawn for each contribution and, last, the noise of each reading as multiples of `noise`.
Writes to `results` n doubles for each row of ROWS, and to standard output {"rows": [...], "seconds": least time of living all units}.

Units are V, A, ohm, s, °C. Amplifiers stand between their limits, and the transistor above its saturation: both are checked, and a unit that leaves them is an error.
"""
import json
import sys
import time

import numpy as np

# SI, exact since 2019.
VOLTS_PER_KELVIN = 1.380649e-23 / 1.602176634e-19
NERNST_PER_KELVIN = np.log(10.0) * 8.31446261815324 / 96485.33212331001

POINTS = np.array([4.0, 5.25, 6.5, 7.75, 9.0])
FORTNIGHT = 14 * 86400.0
# Name, ambient, process, age; None is drawn.
TESTS = [
    ("as built", 25.0, 25.0, 0.0),
    ("after adjustment", 25.0, 25.0, 0.0),
    ("after calibration", 25.0, 25.0, 0.0),
    ("ambient 5 °C, process 8 °C", 5.0, 8.0, FORTNIGHT),
    ("ambient 5 °C, process 32 °C", 5.0, 32.0, FORTNIGHT),
    ("ambient 45 °C, process 8 °C", 45.0, 8.0, FORTNIGHT),
    ("ambient 45 °C, process 32 °C", 45.0, 32.0, FORTNIGHT),
    ("in use", None, None, None),
]

CODES = 4096.0
REFERENCE = 2.5                       # both converters', as stated
LSB = REFERENCE / CODES
LEAST_OHMS = 1e-3                     # a wiper at its end
FULL_SCALE = 0.020
VERDICTS = {"accepted": 0, "zero refused": 1, "slope refused": 2, "both refused": 3}

# Technical buffer 7.00 against temperature, as on such bottles, straight between the points.
BUFFER_7 = np.array([
    (10, 7.059), (15, 7.036), (18, 7.024), (19, 7.020), (20, 7.016), (21, 7.013), (22, 7.009), (23, 7.006), (24, 7.003), (25, 7.000), (26, 6.997), (27, 6.994),
    (28, 6.992), (29, 6.989), (30, 6.987), (35, 6.977)])


def buffer_values(celsius):
    """pH of the two buffers without their tolerance. The second moves as phthalate 4.005 does and is 4.01 at 25 °C:
    coefficients as in data/electrochemistry/electrochemistry-buffer-coefficients.csv, phthalate_4.005_family_fit."""
    def phthalate(kelvin):
        return -8.568 / kelvin + 6.692716 - 0.018744533 * kelvin + 3.2955323e-05 * kelvin**2
    return np.interp(celsius, BUFFER_7[:, 0], BUFFER_7[:, 1]), 4.01 + phthalate(celsius + 273.15) - phthalate(298.15)


def nernst(celsius):
    """Volts per pH."""
    return NERNST_PER_KELVIN * (celsius + 273.15)


def bend(place, mix):
    """Share of a converter's nonlinearity at a place of its range, 0 to 1: a bow, an S, or something between."""
    x = np.clip(place, 0.0, 1.0)
    bow = x * (1 - x)
    return (1 - np.abs(mix)) * 4 * bow + mix * 6 * np.sqrt(3.0) * bow * (1 - 2 * x)


def edge(value):
    """How far a value is from where it would round the other way, in steps."""
    return np.abs(value - np.floor(value) - 0.5)


class Units:
    """The figures of some units by name."""

    def __init__(self, names, figures):
        self.index = {name: k for k, name in enumerate(names)}
        self.figures = figures

    def __len__(self):
        return self.figures.shape[1]

    def __getitem__(self, name):
        return self.figures[self.index[name]]

    def at(self, name, ambient):
        """A value at an ambient temperature."""
        drift = self.index.get(name + " drift")
        value = self[name]
        return value if drift is None else value + self.figures[drift] * (ambient - 25)

    def take(self, which):
        return Units(list(self.index), self.figures[:, which])


class OpAmp:
    """0 = V+ − V− + offset + common-mode error × (mean input − middle of the supplies) + supply error × (supply − stated supply) − (output − middle of the supplies) / gain.
    Its negative supply is 0 V."""

    def __init__(self, units, name, ambient, supply, stated):
        common = units.at(name + " common-mode error", ambient)
        reject = units.at(name + " supply error", ambient)
        self.inverse_gain = 1 / units.at(name + " open-loop gain", ambient)
        self.plus = 1 + common / 2
        self.minus = common / 2 - 1
        middle = supply / 2
        self.constant = units.at(name + " offset", ambient) - common * middle + reject * (supply - stated) + middle * self.inverse_gain
        # Bias current into each input; it doubles every 10 K.
        warm = 2 ** ((ambient - 25) / 10)
        bias = units[name + " bias current"] * warm
        half = units[name + " offset current"] * warm / 2
        self.into_plus = bias + half
        self.into_minus = bias - half
        self.highest = supply - units[name + " output swing below positive"]
        self.lowest = units[name + " output swing above negative"]

    def check(self, output):
        if np.any(output > self.highest[:, None]) or np.any(output < self.lowest[:, None]):
            raise ArithmeticError("An amplifier's output meets a limit, which these equations do not know.")


class InputStage:
    """From the electrode, or the bench's source, to the pin of the converter. Unknowns: wiper of VR1, probe-return, U1's plus input, U1's minus input, U1's output."""

    def __init__(self, units, ambient, zero, span, glass):
        """zero, span: positions of VR1 and VR2. glass: the electrode's resistance; 0 at the bench."""
        supply = units.at("A5 voltage", ambient)
        follower = OpAmp(units, "U2", ambient, supply, (2.7 + 5.5) / 2)
        self.amplifier = amplifier = OpAmp(units, "U1", ambient, supply, (2.7 + 5.5) / 2)
        track = units.at("VR1 resistance", ambient)
        upper = 1 / (units.at("R4 resistance", ambient) + np.maximum(LEAST_OHMS, track * (1 - zero)))
        lower = 1 / (units.at("R5 resistance", ambient) + np.maximum(LEAST_OHMS, track * zero))
        source = glass + units.at("R7 resistance", ambient)
        gain_setting = units.at("R1 resistance", ambient) + np.maximum(LEAST_OHMS, units.at("VR2 resistance", ambient) * span)
        to_return = units.at("R2 resistance", ambient)
        self.matrix = m = np.zeros((len(units), 5, 5))
        self.constant = c = np.zeros((len(units), 5))
        # Wiper: its two arms and U2's input.
        m[:, 0, 0] = upper + lower
        c[:, 0] = upper * units.at("VREF voltage", ambient) - follower.into_plus
        # U2 follows the wiper.
        m[:, 1, 0] = follower.plus
        m[:, 1, 1] = follower.minus - follower.inverse_gain
        c[:, 1] = -follower.constant
        # U1's plus input, in volts: electrode through its resistance, leakage to the guard.
        leak = source / 5e12
        m[:, 2, 2] = 1 + leak
        m[:, 2, 1] = -1 - leak
        c[:, 2] = -source * amplifier.into_plus
        # U1's minus input, in volts across the feedback.
        ratio = gain_setting / to_return
        m[:, 3, 3] = 1 + ratio
        m[:, 3, 4] = -1
        m[:, 3, 1] = -ratio
        c[:, 3] = -gain_setting * amplifier.into_minus
        # U1.
        m[:, 4, 2] = amplifier.plus
        m[:, 4, 3] = amplifier.minus
        m[:, 4, 4] = -amplifier.inverse_gain
        c[:, 4] = -amplifier.constant
        self.drop = units.at("R3 resistance", ambient) * units.at("reading input current", ambient)

    def volts(self, signals):
        """At the converter's pin, for signals[unit, k]."""
        right = np.repeat(self.constant[:, :, None], signals.shape[1], axis=2)
        right[:, 2, :] += signals
        output = np.linalg.solve(self.matrix, right)[:, 4, :]
        self.amplifier.check(output)
        return output - self.drop[:, None]


class OutputStage:
    """From the output converter to the loop's current."""

    def __init__(self, units, ambient, position):
        supply = units.at("L5 voltage", ambient)
        self.ambient = ambient
        self.amplifier = OpAmp(units, "U3", ambient, supply, (2.2 + 5.5) / 2)
        self.upper = units.at("R11 resistance", ambient)
        self.lower = units.at("R12 resistance", ambient) + np.maximum(LEAST_OHMS, units.at("VR3 resistance", ambient) * position)
        self.base_ohms = units.at("R14 resistance", ambient)
        self.sense_ohms = units.at("R15 resistance", ambient)
        self.gain = units["Q1 current gain"]
        self.loop_supply = units.at("L18 voltage", ambient)
        self.protection = units.at("R13 resistance", ambient)
        self.reference = units.at("writing reference", ambient) / REFERENCE
        self.gain_error = units["writing gain error"]
        self.offset = units["writing offset"]
        self.nonlinearity = units["writing nonlinearity"]
        self.mix = units["writing nonlinearity bend"]

    def converter(self, drive):
        """What the output converter really gives when drive[unit, k] is asked of it."""
        def column(x):
            return x[:, None]
        return (drive * column(self.reference) * (1 + column(self.gain_error)) + column(self.offset)
                + column(self.nonlinearity) * LSB * bend(drive / REFERENCE, column(self.mix)))

    def amperes(self, drive, load):
        """Newton's method on the sense, drive and base voltages with the transistor's exponential law."""
        n, k = drive.shape

        def each(x):
            return np.repeat(x, k)
        amplifier = self.amplifier
        set_volts = ((self.converter(drive) / self.upper[:, None] - amplifier.into_plus[:, None]) / (1 / self.upper + 1 / self.lower)[:, None]).ravel()
        kelvin = self.ambient + 273.15
        thermal = VOLTS_PER_KELVIN * kelvin
        saturation = 50e-15 * (kelvin / 298.15) ** 3 * np.exp(1.11 / VOLTS_PER_KELVIN * (1 / 298.15 - 1 / kelvin))
        if np.ndim(thermal):
            thermal, saturation = each(thermal), each(saturation)
        inverse_gain, base_ohms, sense_ohms, beta = each(amplifier.inverse_gain), each(self.base_ohms), each(self.sense_ohms), each(self.gain)
        into_minus, minus = each(amplifier.into_minus), each(amplifier.minus)
        known = each(amplifier.plus) * set_volts + each(amplifier.constant)
        x = np.empty((n * k, 3))
        x[:, 0] = set_volts
        collector = np.maximum(set_volts / sense_ohms, 1e-6)
        x[:, 2] = x[:, 0] + thermal * np.log1p(collector / saturation)
        x[:, 1] = x[:, 2] + base_ohms * collector / beta
        jacobian = np.zeros((n * k, 3, 3))
        residual = np.empty((n * k, 3, 1))
        jacobian[:, 0, 0] = minus
        jacobian[:, 0, 1] = -inverse_gain
        for _ in range(50):
            power = np.exp((x[:, 2] - x[:, 0]) / thermal)
            collector = saturation * (power - 1)
            slope = saturation * power / thermal
            # The amplifier; the base through R14, in volts; the sense resistor, in volts.
            residual[:, 0, 0] = minus * x[:, 0] - inverse_gain * x[:, 1] + known
            residual[:, 1, 0] = x[:, 1] - x[:, 2] - base_ohms * collector / beta
            residual[:, 2, 0] = x[:, 0] + sense_ohms * (into_minus - collector * (1 + 1 / beta))
            jacobian[:, 1, 0] = base_ohms * slope / beta
            jacobian[:, 1, 1] = 1
            jacobian[:, 1, 2] = -1 - base_ohms * slope / beta
            jacobian[:, 2, 2] = -sense_ohms * slope * (1 + 1 / beta)
            jacobian[:, 2, 0] = 1 - jacobian[:, 2, 2]
            step = np.linalg.solve(jacobian, residual)[:, :, 0]
            x -= step
            if np.max(np.abs(step)) < 1e-9:
                # Newton's error is squared at each step: the next would be below the last digit.
                break
        else:
            raise ArithmeticError("The transistor's equations do not settle.")
        # The emitter's current is what the sense resistor and the amplifier's input take.
        collector = (x[:, 0] / sense_ohms + into_minus) * beta / (beta + 1)
        amplifier.check(x[:, 1].reshape(n, k))
        collector = collector.reshape(n, k)
        if np.any(self.loop_supply[:, None] - collector * (self.protection + load)[:, None] - x[:, 0].reshape(n, k) < 0.3):
            raise ArithmeticError("The transistor is saturated, which these equations do not know.")
        return collector


def indicated(codes, celsius, offset, gain):
    """pH that the code makes of codes: by the stage's intent 1.1 V + 5.5 × signal, the calibration's line and the slope at the temperature it believes."""
    signal = (codes * LSB - 1.1) / 5.5
    return 7 - (signal - offset[:, None]) / gain[:, None] / nernst(celsius)[:, None]


def output_codes(ph):
    """Unrounded code for what is indicated: the scale 4 to 9 pH, the loop's limits, the failure current for what is not plausible, 0.1 V per mA."""
    amperes = np.clip(0.004 + (ph - 4) * (0.016 / 5), 0.0038, 0.0205)
    amperes = np.where((ph < 3) | (ph > 10), 0.0036, amperes)
    return amperes * 100 / LSB


class Life:
    def __init__(self, units, noise):
        self.units = units
        self.noise = noise
        n = len(units)
        self.positions = np.full((3, n), 0.5)
        self.offset = np.zeros(n)
        self.gain = np.ones(n)
        self.rows = {}

    def live(self):
        for number, (name, ambient, process, age) in enumerate(TESTS):
            if number == 1:
                self.adjust()
            elif number == 2:
                self.calibrate()
            self.test(name, ambient, process, age)
        return self.rows

    def codes(self, stage, signals, ambient, streams):
        """Unrounded codes of the input converter."""
        u = self.units
        volts = stage.volts(signals) + u["reading offset"][:, None]
        exact = volts / u.at("reading reference", ambient)[:, None] * CODES
        exact += u["reading nonlinearity"][:, None] * bend(exact / (CODES - 1), u["reading nonlinearity bend"][:, None])
        return exact + self.noise * np.stack([u[s] for s in streams], axis=1)

    def signal(self, ph, process, age):
        """Of this unit's electrode; ph[unit or 1, k]."""
        u = self.units
        zero = u["sensor zero"] + u["sensor drift"] * age
        slope = u["sensor slope"][:, None]
        return slope * ((nernst(25.0) * (zero - 7))[:, None] - np.broadcast_to(nernst(process), zero.shape)[:, None] * (ph - 7))

    def glass(self, process):
        return self.units["sensor resistance"] * 2 ** ((25 - process) / 7.5)

    def test(self, name, ambient, process, age):
        u = self.units
        load = np.full(len(u), 250.0)
        if ambient is None:
            ambient, process, age, load = u["ambient temperature"], u["process temperature"], u["time since calibration"], u["loop load"]
        stage = InputStage(u, ambient, self.positions[0], self.positions[1], self.glass(process))
        streams = [f"noise, {name}, point {p + 1}" for p in range(len(POINTS))]
        exact = self.codes(stage, self.signal(POINTS[None, :], process, age), ambient, streams)
        ph = indicated(np.clip(np.rint(exact), 0, CODES - 1), process + u["arithmetic temperature error"], self.offset, self.gain)
        wanted = output_codes(ph)
        drive = np.clip(np.rint(wanted), 0, CODES - 1) * LSB
        loop = OutputStage(u, ambient, self.positions[2]).amperes(drive, load)
        for p, x in enumerate(POINTS):
            self.rows[f"display {name} {p}"] = np.rint(ph[:, p] / 0.01) * 0.01 - x
            self.rows[f"loop {name} {p}"] = loop[:, p] - (0.004 + (x - 4) * (0.016 / 5))
            self.rows[f"edge {name} {p}"] = np.minimum(edge(exact[:, p]), np.minimum(edge(ph[:, p] / 0.01), edge(wanted[:, p])))

    def adjust(self):
        """Three steps; passes are repeated while anything is turned."""
        u = self.units
        n = len(u)
        meters = [self.pin_volts(0.0), self.pin_volts(0.2), self.loop_amperes]
        targets, tolerances = (1.1, 2.2, 0.020), (1e-3, 2e-3, 10e-6)
        digits = [u[f"bench meter digits in {step}"] for step in ("zero", "span", "output")]
        settings = [u[f"VR{k + 1} setting"] for k in range(3)]
        everything = np.arange(n)
        # Change of each meter per travel on the drawing, to begin the search with.
        slopes = (0.1025, 0.1, 0.00076)
        busy = np.ones(n, bool)
        rounds = np.zeros(n)
        for turn in range(8):
            turned = np.zeros(n, bool)
            for k in range(3):
                if not busy.any():
                    break
                who = everything[busy]
                if turn > 0:
                    who = who[np.abs(meters[k](who, self.positions[k, who]) + digits[k][who] - targets[k]) > tolerances[k]]
                if not len(who):
                    continue
                before = self.positions[k, who]
                ideal = search(lambda sub, x: meters[k](who[sub], x), before, (targets[k] - digits[k])[who], slopes[k])
                after = np.clip(ideal + settings[k][who], 0, 1)
                self.positions[k, who] = after
                turned[who] = turned[who] | (turn == 0) | (np.abs(after - before) > 1e-7)
            busy &= turned
            rounds += busy
            if not busy.any():
                break
        for k in range(3):
            self.rows[f"position {k}"] = self.positions[k]
            self.rows[f"meter {k}"] = meters[k](everything, self.positions[k]) + digits[k]
        self.rows["rounds"] = rounds

    def pin_volts(self, source):
        """The meter at the converter's pin with the bench's source at the electrode's place. Which trimmer is moved shows from the source."""
        def read(who, position):
            whole = len(who) == len(self.units)
            u = self.units if whole else self.units.take(who)
            zero, span = self.positions[0, who], self.positions[1, who]
            zero, span = (position, span) if source == 0 else (zero, position)
            return InputStage(u, 25.0, zero, span, 0.0).volts(np.full((len(who), 1), source))[:, 0]
        return read

    def loop_amperes(self, who, position):
        whole = len(who) == len(self.units)
        u = self.units if whole else self.units.take(who)
        return OutputStage(u, 25.0, position).amperes(np.full((len(who), 1), 3277 * LSB), np.full(len(who), 250.0))[:, 0]

    def calibrate(self):
        u = self.units
        celsius = u["temperature of the standards"]
        believed = celsius + u["arithmetic temperature error"]
        true, entered = buffer_values(celsius), buffer_values(believed)
        ph = np.stack([true[0] + u["calibration first standard"] - 7.00, true[1] + u["calibration second standard"] - 4.01], axis=1)
        stage = InputStage(u, 25.0, self.positions[0], self.positions[1], self.glass(celsius))
        exact = self.codes(stage, self.signal(ph, celsius, 0.0), 25.0, ["noise, standard 1", "noise, standard 2"])
        measured = (np.clip(np.rint(exact), 0, CODES - 1) * LSB - 1.1) / 5.5
        ideal = -nernst(believed)[:, None] * (np.stack(entered, axis=1) - 7)
        slope = (measured[:, 1] - measured[:, 0]) / (ideal[:, 1] - ideal[:, 0])
        zero = measured[:, 0] - slope * ideal[:, 0]
        good_zero = np.abs(zero) <= 0.030
        good_slope = (slope >= 0.85) & (slope <= 1.05)
        accepted = good_zero & good_slope
        self.offset = np.where(accepted, zero, self.offset)
        self.gain = np.where(accepted, slope, self.gain)
        self.rows["zero"], self.rows["slope"] = zero, slope
        self.rows["verdict"] = np.where(accepted, 0.0, np.where(good_slope, 1.0, np.where(good_zero, 2.0, 3.0)))
        self.rows["edge standards"] = np.minimum(edge(exact[:, 0]), edge(exact[:, 1]))


def search(read, start, wanted, slope):
    """Position of each unit's trimmer at which the meter reads what is wanted, by the secant method to the last digits; beyond an end where the straight line through
    the end says so. The whole set is read until most have arrived."""
    x0, e0 = start.copy(), None
    which = np.arange(len(start))
    e0 = read(which, x0) - wanted
    ideal = x0.copy()
    x1 = np.clip(x0 - e0 / slope, 0, 1)
    stuck = x1 == x0
    x1[stuck] = np.where(x0[stuck] > 0.5, x0[stuck] - 0.01, x0[stuck] + 0.01)
    for _ in range(50):
        e1 = read(which, x1) - wanted[which]
        with np.errstate(divide="ignore", invalid="ignore"):
            step = e1 * (x1 - x0) / (e1 - e0)
        step[e1 == e0] = 0
        x2 = x1 - step
        inside = np.clip(x2, 0, 1)
        beyond = (inside != x2) & ((inside == x1) | (inside == x0))
        done = beyond | (np.abs(step) < 1e-7)
        # A secant's error after a step of 1e-7 is that times the one before: below the last digit.
        ideal[which[done]] = x2[done]
        if done.all():
            return ideal
        left = ~done
        which, x0, e0, x1 = which[left], x1[left], e1[left], inside[left]
    raise ArithmeticError("A trimmer's position is not found.")


def main():
    request = json.load(sys.stdin)
    n, block = request["units"], request.get("block", 2000)
    names = request["names"]
    figures = np.fromfile(request["figures"]).reshape(len(names), n)
    best = np.inf
    for _ in range(request.get("repeat", 1)):
        begin = time.perf_counter()
        parts = [Life(Units(names, np.ascontiguousarray(figures[:, first:first + block])), request["noise"]).live() for first in range(0, n, block)]
        best = min(best, time.perf_counter() - begin)
    rows = list(parts[0])
    if request.get("results"):
        with open(request["results"], "wb") as file:
            for row in rows:
                np.concatenate([part[row] for part in parts]).tofile(file)
    json.dump({"rows": rows, "seconds": best, "numpy": np.__version__}, sys.stdout)


if __name__ == "__main__":
    main()
