"""Times NumPy and SciPy on the node equations of resistor networks, for bench/sizes.

Reads {"networks": [{"nodes": n, "resistors": [[a, b, ohms], ...], "sources": [[node, amperes], ...]}, ...]} from standard input; node 0 is the return.
Writes per network the seconds of one solve with new numbers in a known pattern, sparse and (up to 400 nodes) dense, and the voltages.
"""
import json
import sys

import numpy as np
import scipy.sparse
import scipy.sparse.linalg

from timing import median


def main():
    results = []
    for network in json.load(sys.stdin)["networks"]:
        size = network["nodes"] - 1
        table = np.array(network["resistors"])
        first = table[:, 0].astype(int) - 1
        second = table[:, 1].astype(int) - 1
        conductance = 1 / table[:, 2]
        right = np.zeros(size)
        for node, amperes in network["sources"]:
            right[int(node) - 1] += amperes
        rows, columns, which, sign = [], [], [], []
        for k, (a, b) in enumerate(zip(first, second)):
            for row, column, factor in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                if row >= 0 and column >= 0:
                    rows.append(row)
                    columns.append(column)
                    which.append(k)
                    sign.append(factor)
        which = np.array(which)
        sign = np.array(sign, dtype=float)
        # The pattern once: where each contribution adds up among the values of a compressed matrix.
        pattern = scipy.sparse.csc_matrix((np.ones(len(rows)), (rows, columns)), shape=(size, size))
        pattern.sort_indices()
        place = {}
        for column in range(size):
            for at in range(pattern.indptr[column], pattern.indptr[column + 1]):
                place[pattern.indices[at], column] = at
        places = np.array([place[row, column] for row, column in zip(rows, columns)])
        flat = np.array(rows) * size + np.array(columns)

        def sparse():
            data = np.bincount(places, weights=sign * conductance[which], minlength=pattern.nnz)
            matrix = scipy.sparse.csc_matrix((data, pattern.indices, pattern.indptr), shape=(size, size))
            return scipy.sparse.linalg.splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.1, options={"SymmetricMode": True}).solve(right)

        def dense():
            matrix = np.bincount(flat, weights=sign * conductance[which], minlength=size * size).reshape(size, size)
            return np.linalg.solve(matrix, right)

        results.append({"sparse": median(sparse), "dense": median(dense) if size <= 400 else None, "voltages": [0.0] + sparse().tolist()})
    json.dump(results, sys.stdout)


if __name__ == "__main__":
    main()
