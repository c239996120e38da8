namespace Throughline.Circuits;

/// <summary>Machine code of some phases of a tape for a number of lanes.</summary>
/// <param name="rows">First number of the first row; rows follow each other with the lanes it was made for.</param>
/// <param name="counts">Iterations of each nonlinear block: those done are added, the mean over vectors.</param>
internal delegate void TapeKernel(ref double rows, ref double counts);

/// <summary>Machine code of the three ways to run a tape; null where it is interpreted.</summary>
internal sealed record TapeKernels(TapeKernel? Prepare, TapeKernel? Solve, TapeKernel? SolveSources);
