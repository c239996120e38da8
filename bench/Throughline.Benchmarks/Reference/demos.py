"""Times NumPy and SciPy on the equations of the demos, for bench/sizes.

Reads {"demos": [{"starts", "columns": compressed rows; "static", "dynamic": values G and C; "gradient": reading over unknowns; "iterations";
"source": equation of one source; "hertz"; "band"; "noise": [{"density", "corner", "unknowns", "weights"}, ...]}, ...]} from standard input.
Writes per demo the seconds, sparse and dense, of: the solves of the operating point; the same and one transposed solve; (G + jwC)^T a = g at every
frequency; the noise over the band by the 15-point rule of Kronrod on halves of decades. And the answers: a at the source, and the noise.
"""
import json
import sys

import numpy as np
import scipy.sparse
import scipy.sparse.linalg

from timing import median

# Points and weights of Kronrod for 15 points: QUADPACK.
NODES = np.array([0.991455371120812639206854697526329, 0.949107912342758524526189684047851, 0.864864423359769072789712788640926,
                  0.741531185599394439863864773280788, 0.586087235467691130294144691693013, 0.405845151377397166906606412076961,
                  0.207784955007898467600689403773245, 0.0])
WEIGHTS = np.array([0.022935322010529224963732008058970, 0.063092092629978553290700663189204, 0.104790010322250183839876322541518,
                    0.140653259715525918745189590510238, 0.169004726639267902826583426598550, 0.190350578064785409913256402421014,
                    0.204432940075298892414161999234649, 0.209482141084727828012999174891714])


def main():
    results = []
    for demo in json.load(sys.stdin)["demos"]:
        size = len(demo["starts"]) - 1
        shape = (size, size)
        parts = (np.array(demo["columns"]), np.array(demo["starts"]))
        g = scipy.sparse.csr_matrix((np.array(demo["static"]), *parts), shape=shape).tocsc()
        c = scipy.sparse.csr_matrix((np.array(demo["dynamic"]), *parts), shape=shape).tocsc()
        # The sum of both has the pattern of the engine's matrix, so that only values change with frequency.
        indices, indptr = g.indices, g.indptr
        assert np.array_equal(indices, c.indices)
        g_dense, c_dense = g.toarray(), c.toarray()
        gradient = np.array(demo["gradient"])
        right = g @ np.ones(size)
        hertz = np.array(demo["hertz"])
        begin, end = np.log(demo["band"])
        pieces = int(np.ceil((end - begin) / (0.5 * np.log(10))))
        half = (end - begin) / pieces / 2
        points = np.concatenate([-NODES, NODES[:-1]])
        middles = begin + half * (2 * np.arange(pieces) + 1)
        noise_hertz = np.exp(middles[:, None] + half * points[None, :]).ravel()
        noise_weights = np.tile(np.concatenate([WEIGHTS, WEIGHTS[:-1]]), pieces) * half * noise_hertz
        injection = np.zeros((len(demo["noise"]), size))
        for k, source in enumerate(demo["noise"]):
            for unknown, weight in zip(source["unknowns"], source["weights"]):
                if unknown < size:
                    injection[k, unknown] += weight
        density = np.array([s["density"] for s in demo["noise"]])[:, None] * (1 + np.array([s["corner"] for s in demo["noise"]])[:, None] / noise_hertz)

        def point_sparse(adjoint):
            for _ in range(demo["iterations"]):
                factors = scipy.sparse.linalg.splu(g)
                factors.solve(right)
            return factors.solve(gradient, "T") if adjoint else None

        def point_dense(adjoint):
            for _ in range(demo["iterations"]):
                np.linalg.solve(g_dense, right)
            return np.linalg.solve(g_dense.T, gradient) if adjoint else None

        def sweep_sparse(frequencies):
            adjoints = np.empty((len(frequencies), size), dtype=complex)
            for k, f in enumerate(frequencies):
                matrix = scipy.sparse.csc_matrix((g.data + 2j * np.pi * f * c.data, indices, indptr), shape=shape)
                adjoints[k] = scipy.sparse.linalg.splu(matrix).solve(gradient.astype(complex), "T")
            return adjoints

        def sweep_dense(frequencies):
            matrices = g_dense.T[None] + 2j * np.pi * frequencies[:, None, None] * c_dense.T[None]
            return np.linalg.solve(matrices, np.broadcast_to(gradient.astype(complex)[:, None], (len(frequencies), size, 1)))[..., 0]

        def noise(sweep):
            return np.sqrt(np.sum(density * np.abs(injection @ sweep(noise_hertz).T) ** 2 @ noise_weights))

        times = {
            name: [median(lambda: point(False)), median(lambda: point(True)), median(lambda: sweep(hertz)), median(lambda: noise(sweep))]
            for name, point, sweep in (("sparse", point_sparse, sweep_sparse), ("dense", point_dense, sweep_dense))
        }
        at_source = sweep_dense(hertz)[:, demo["source"]]
        results.append({**times, "real": at_source.real.tolist(), "imaginary": at_source.imag.tolist(), "noise": float(noise(sweep_dense))})
    json.dump(results, sys.stdout)


if __name__ == "__main__":
    main()
