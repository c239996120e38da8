"""Solves networks densely with NumPy and SciPy, independently of the engine: conductances stamped into one matrix, no elimination order, no branch of a resistor.

Reads {"task": ..., "networks": [...]} from standard input and writes a list of results to standard output. Node 0 is the return.
An element is {"kind": ..., "nodes": [...], "values": [...]}; "control" is the index of the element whose current controls it.
"""
import json
import sys

import numpy as np
import scipy.integrate
import scipy.linalg


class System:
    """G x + C dx/dt = b over the node voltages and the currents of everything that is no conductance."""

    def __init__(self, network):
        self.elements = network["elements"]
        self.nodes = network["nodes"]
        self.rows = {}
        size = self.nodes - 1
        for index, element in enumerate(self.elements):
            if element["kind"] in ("V", "L", "LINK", "VCVS", "CCVS", "OPAMP", "INAMP", "SENSE"):
                self.rows[index] = size
                size += 1
        self.size = size
        self.g = np.zeros((size, size))
        self.c = np.zeros((size, size))
        self.b = np.zeros(size)
        for index, element in enumerate(self.elements):
            self.stamp(index, element)

    def put(self, matrix, row, column, value):
        if row >= 0 and column >= 0:
            matrix[row, column] += value

    def conduct(self, matrix, a, b, value):
        self.put(matrix, a, a, value)
        self.put(matrix, b, b, value)
        self.put(matrix, a, b, -value)
        self.put(matrix, b, a, -value)

    def branch(self, index, a, b):
        """A branch whose unknown current flows from a to b through it; returns its row."""
        row = self.rows[index]
        self.put(self.g, a, row, 1.0)
        self.put(self.g, b, row, -1.0)
        return row

    def stamp(self, index, element):
        kind = element["kind"]
        n = [node - 1 for node in element["nodes"]]
        v = element["values"]
        if kind == "R":
            self.conduct(self.g, n[0], n[1], 1.0 / v[0])
        elif kind == "C":
            self.conduct(self.c, n[0], n[1], v[0])
        elif kind == "I":
            for node, sign in ((n[0], -1.0), (n[1], 1.0)):
                if node >= 0:
                    self.b[node] += sign * v[0]
        elif kind in ("V", "LINK", "SENSE", "L"):
            row = self.branch(index, n[0], n[1])
            self.put(self.g, row, n[0], 1.0)
            self.put(self.g, row, n[1], -1.0)
            if kind == "V":
                self.b[row] = v[0]
            if kind == "L":
                self.c[row, row] = -v[0]
        elif kind == "VCVS":
            row = self.branch(index, n[0], n[1])
            for node, value in ((n[0], 1.0), (n[1], -1.0), (n[2], -v[0]), (n[3], v[0])):
                self.put(self.g, row, node, value)
        elif kind == "CCVS":
            row = self.branch(index, n[0], n[1])
            self.put(self.g, row, n[0], 1.0)
            self.put(self.g, row, n[1], -1.0)
            self.g[row, self.rows[element["control"]]] -= v[0]
        elif kind == "VCCS":
            for node, sign in ((n[0], 1.0), (n[1], -1.0)):
                self.put(self.g, node, n[2], sign * v[0])
                self.put(self.g, node, n[3], -sign * v[0])
        elif kind == "CCCS":
            control = self.rows[element["control"]]
            self.put(self.g, n[0], control, v[0])
            self.put(self.g, n[1], control, -v[0])
        elif kind == "OPAMP":
            # gain (0: infinite), offset, bias +, bias -, input resistance, output resistance, gain-bandwidth product (0: none)
            gain, offset, bias_plus, bias_minus, r_in, r_out, bandwidth = v
            row = self.branch(index, n[2], -1)
            inverse = 0.0 if gain == 0 else 1.0 / gain
            for node, value in ((n[0], 1.0), (n[1], -1.0), (n[2], -inverse)):
                self.put(self.g, row, node, value)
            self.g[row, row] = inverse * r_out
            self.b[row] = -offset
            if bandwidth:
                self.put(self.c, row, n[2], -1.0 / (2 * np.pi * bandwidth))
                self.c[row, row] = r_out / (2 * np.pi * bandwidth)
            if r_in:
                self.conduct(self.g, n[0], n[1], 1.0 / r_in)
            for node, bias in ((n[0], bias_plus), (n[1], bias_minus)):
                if node >= 0:
                    self.b[node] -= bias
        elif kind == "INAMP":
            gain, offset, out_offset = v
            row = self.branch(index, n[2], -1)
            for node, value in ((n[0], gain), (n[1], -gain), (n[2], -1.0), (n[3], 1.0)):
                self.put(self.g, row, node, value)
            self.b[row] = -gain * offset - out_offset
        else:
            raise ValueError(kind)


def solve_scaled(matrix, right):
    """Rows scaled to one before a dense solve, with the condition number of what was solved."""
    scale = np.abs(matrix).max(axis=1)
    scaled = matrix / scale[:, None]
    right = (right.T / scale).T
    solution = np.linalg.solve(scaled, right)
    residual = right - scaled @ solution
    return solution + np.linalg.solve(scaled, residual), float(np.linalg.cond(scaled))


def operating_point(network):
    system = System(network)
    x, condition = solve_scaled(system.g, system.b)
    return {"voltages": [0.0] + x[: system.nodes - 1].tolist(), "condition": condition}


def response(network):
    """Complex node voltages at each frequency with every source at its value."""
    system = System(network)
    results = []
    worst = 0.0
    for hertz in network["frequencies"]:
        x, condition = solve_scaled(system.g + 2j * np.pi * hertz * system.c, system.b.astype(complex))
        voltages = x[: system.nodes - 1]
        results.append([[0.0, 0.0]] + [[v.real, v.imag] for v in voltages])
        worst = max(worst, condition)
    return {"voltages": results, "condition": worst}


def noise(network):
    """Power density at a node: one forward solve for the noise current of every resistor and the noises of every amplifier."""
    system = System(network)
    boltzmann = 1.380649e-23
    kelvin = 298.15
    node = network["node"] - 1
    results = []
    worst = 0.0
    for hertz in network["frequencies"]:
        matrix = system.g + 2j * np.pi * hertz * system.c
        densities = []
        columns = []
        for index, element in enumerate(system.elements):
            n = [k - 1 for k in element["nodes"]]
            v = element["values"]
            injections = []
            if element["kind"] == "R":
                injections.append((4 * boltzmann * kelvin / v[0], {n[0]: 1.0, n[1]: -1.0} if n[0] != n[1] else {}))
            elif element["kind"] == "OPAMP" and "noise" in network:
                density, corner, current, current_corner = network["noise"]
                injections.append((density**2 * (1 + corner / hertz), {system.rows[index]: 1.0}))
                for pin in (n[0], n[1]):
                    injections.append((current**2 * (1 + current_corner / hertz), {pin: 1.0}))
            for density, places in injections:
                right = np.zeros(system.size, dtype=complex)
                for place, value in places.items():
                    if place >= 0:
                        right[place] += value
                densities.append(density)
                columns.append(right)
        x, condition = solve_scaled(matrix, np.column_stack(columns))
        worst = max(worst, condition)
        total = float((np.array(densities) * np.abs(x[node]) ** 2).sum())
        results.append(float(np.sqrt(total)))
    return {"densities": results, "condition": worst}


def step(network):
    """Node voltages after all sources step from zero: C split by its singular values into states and algebraic unknowns, then scipy.linalg.expm."""
    system = System(network)
    # Rows scaled so that every equation weighs the same.
    scale = np.abs(system.g).max(axis=1)
    g = system.g / scale[:, None]
    c = system.c / scale[:, None]
    b = system.b / scale
    u, s, vt = np.linalg.svd(c)
    rank = int((s > 1e-12 * s[0]).sum())
    gt = u.T @ g @ vt.T
    bt = u.T @ b
    g22 = gt[rank:, rank:]
    condition = float(np.linalg.cond(g22)) if g22.size else 1.0
    if condition > 1e9 or s[rank - 1] < 1e-9 * s[0]:
        return {"condition": 1e99}
    solve22 = np.linalg.solve(g22, np.column_stack([gt[rank:, :rank], bt[rank:]])) if g22.size else np.zeros((0, rank + 1))
    a = -(gt[:rank, :rank] - gt[:rank, rank:] @ solve22[:, :-1]) / s[:rank, None]
    f = (bt[:rank] - gt[:rank, rank:] @ solve22[:, -1]) / s[:rank]
    eigenvalues = np.linalg.eigvals(a)
    if eigenvalues.real.max() >= 0:
        return {"condition": 1e99}
    slowest = 1.0 / -eigenvalues.real.max()
    times = [slowest * factor for factor in (0.01, 0.1, 0.3, 1.0, 3.0)]
    augmented = np.zeros((rank + 1, rank + 1))
    augmented[:rank, :rank] = a
    augmented[:rank, rank] = f
    results = []
    for time in times:
        # The norm over the slowest rate is the stiffness: expm squares that often and loses digits with it.
        state = scipy.linalg.expm(augmented * time)[:rank, rank]
        rest = solve22[:, -1] - solve22[:, :-1] @ state
        x = vt.T @ np.concatenate([state, rest])
        results.append([0.0] + x[: system.nodes - 1].tolist())
    stiffness = float(np.abs(eigenvalues).max() * slowest)
    return {"times": times, "voltages": results, "condition": max(condition * stiffness, float(s[0] / s[rank - 1])), "poles": [[p.real, p.imag] for p in eigenvalues]}


def motion(network):
    """Node voltages of a nonlinear network at given times, from rest: every node has a capacitor to the return, so the currents say the derivatives. LSODA at 1e-10."""
    capacities = np.array(network["capacities"])
    size = len(capacities)
    g = np.zeros((size + 1, size + 1))
    for a, b, ohms in network["resistors"]:
        g[a, a] += 1 / ohms
        g[b, b] += 1 / ohms
        g[a, b] -= 1 / ohms
        g[b, a] -= 1 / ohms
    sources = [(int(node), ohms, offset, amplitude, 2 * np.pi * hertz, start) for node, ohms, offset, amplitude, hertz, start in network["sources"]]
    for node, ohms, *_ in sources:
        g[node, node] += 1 / ohms
    amplifiers = [(int(plus), int(node), gain, 2 * np.pi * bandwidth, slew, ohms) for plus, node, gain, bandwidth, slew, ohms in network["amplifiers"]]
    for _, node, _, _, _, ohms in amplifiers:
        g[node, node] += 1 / ohms
    g = g[1:, 1:]
    diodes = [(int(a), int(k), saturation, emission * thermal_voltage) for a, k, saturation, emission in network["diodes"]]

    def derivative(time, state):
        v = np.concatenate([[0.0], state[:size]])
        current = np.concatenate([[0.0], -(g @ state[:size])])
        for node, ohms, offset, amplitude, omega, start in sources:
            if time >= start:
                current[node] += (offset + amplitude * np.sin(omega * time)) / ohms
        for a, k, saturation, thermal in diodes:
            flow = saturation * np.expm1(min((v[a] - v[k]) / thermal, 100.0))
            current[a] -= flow
            current[k] += flow
        rates = np.empty(len(amplifiers))
        for index, (plus, node, gain, omega, slew, ohms) in enumerate(amplifiers):
            output = state[size + index]
            current[node] += output / ohms
            rates[index] = min(max(omega * (v[plus] - v[node] - output / gain), -slew), slew)
        return np.concatenate([current[1:] / capacities, rates])

    times = network["times"]
    stops = sorted({0.0, times[-1]} | {start for *_, start in sources if 0 < start < times[-1]})
    state = np.zeros(size + len(amplifiers))
    results = {}
    for begin, end in zip(stops, stops[1:]):
        inside = [time for time in times if begin < time <= end]
        answer = scipy.integrate.solve_ivp(
            derivative, (begin, end - 1e-15 * end), state, method="LSODA", rtol=1e-10, atol=1e-13, t_eval=[min(t, end - 1e-15 * end) for t in sorted({*inside, end})])
        if not answer.success:
            return {"voltages": None}
        for time, column in zip(sorted({*inside, end}), answer.y.T):
            results[time] = column
        state = answer.y[:, -1]
    return {"voltages": [[0.0] + results[time][:size].tolist() for time in times]}


thermal_voltage = 298.15 * 1.380649e-23 / 1.602176634e-19

TASKS = {"motion": motion, "operating point": operating_point, "response": response, "noise": noise, "step": step}


def main():
    request = json.load(sys.stdin)
    task = TASKS[request["task"]]
    json.dump([task(network) for network in request["networks"]], sys.stdout)


if __name__ == "__main__":
    main()
