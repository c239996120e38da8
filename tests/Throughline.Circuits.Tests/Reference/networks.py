"""Solves networks densely with NumPy, independently of the engine: conductances stamped into one matrix, no elimination order, no branch of a resistor.

Reads {"task": ..., "networks": [...]} from standard input and writes a list of results to standard output. Node 0 is the return.
An element is {"kind": ..., "nodes": [...], "values": [...]}; "control" is the index of the element whose current controls it.
"""
import json
import sys

import numpy as np


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
    solution = np.linalg.solve(scaled, right / scale)
    residual = right / scale - scaled @ solution
    return solution + np.linalg.solve(scaled, residual), float(np.linalg.cond(scaled))


def operating_point(network):
    system = System(network)
    x, condition = solve_scaled(system.g, system.b)
    return {"voltages": [0.0] + x[: system.nodes - 1].tolist(), "condition": condition}


TASKS = {"operating point": operating_point}


def main():
    request = json.load(sys.stdin)
    task = TASKS[request["task"]]
    json.dump([task(network) for network in request["networks"]], sys.stdout)


if __name__ == "__main__":
    main()
