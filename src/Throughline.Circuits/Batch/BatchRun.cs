using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace Throughline.Circuits;

/// <summary>
/// Solves a <see cref="BatchProgram"/>'s network for many units at once. Numbers of one slot lie side by side, one for each lane. What a lane gives depends on its
/// own numbers alone: not on its neighbours, its place, the number of lanes or the width of the machine's vectors. One thread; nothing is allocated after creation.
/// </summary>
public sealed class BatchRun
{
    /// <summary>Iterations after which a lane counts as one that does not settle.</summary>
    internal const int MostIterations = 40;

    private readonly BatchProgram _program;
    private readonly TapeCode _code;
    private readonly TapeKernels _kernels;
    private readonly double[] _memory;
    private readonly int _origin;
    private readonly int[] _rowOfInput;
    private readonly TapeIteration[] _iterations;
    private readonly double[] _counts;
    private bool _hasLast;

    internal BatchRun(BatchProgram program, int lanes, TapeKernels kernels)
    {
        _kernels = kernels;
        _program = program;
        _code = program.Code;
        Lanes = lanes;
        _iterations = [.. program.Source.Iterations];
        _counts = new double[_iterations.Length];
        // A varying slot that no probe depends on has a row too, so that it can be written like any other.
        int rows = _code.RowCount;
        _rowOfInput = [.. _code.RowOfInput];
        for (int input = 0; input <= program.Network.SlotCount; input++)
        {
            if (_rowOfInput[input] < 0 && program.IsVarying(input))
                _rowOfInput[input] = rows++;
        }

        // Rows begin where a cache line does: a pinned array stays there.
        _memory = GC.AllocateArray<double>((rows * lanes) + 8, pinned: true);
        nint address = Marshal.UnsafeAddrOfPinnedArrayElement(_memory, 0);
        _origin = (int)((64 - (address & 63)) & 63) / sizeof(double);
        foreach ((int row, double value) in _code.Constants)
            Row(row).Fill(value);
        for (int input = 0; input <= program.Network.SlotCount; input++)
        {
            if (_rowOfInput[input] >= 0)
                Row(_rowOfInput[input]).Fill(program.NominalInput(input));
        }
    }

    public int Lanes { get; }

    /// <summary>Iterations of each nonlinear block in the last solve, the mean over vectors of lanes.</summary>
    public ReadOnlySpan<double> Iterations => _counts;

    /// <summary>Temperature of the junctions of each lane, K, above 0. Set it before <see cref="Prepare"/>.</summary>
    public Span<double> Kelvin => Row(_rowOfInput[_program.Source.KelvinInput]);

    /// <summary>Values of a varying slot, one per lane, SI units.</summary>
    /// <returns>The numbers themselves: those of a fixed slot are to be written before <see cref="Prepare"/>, others before a solve.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The slot is not one that the program lets vary.</exception>
    public Span<double> Slot(int slot) => (uint)slot < (uint)_program.Network.SlotCount && _rowOfInput[slot] >= 0
        ? Row(_rowOfInput[slot])
        : throw new ArgumentOutOfRangeException(nameof(slot), slot, "The slot is not one that varies.");

    /// <summary>Eliminates what depends on fixed slots and the temperature alone. To be called after they were written.</summary>
    public void Prepare() => Run(_kernels.Prepare, BatchEquations.Fixed, BatchEquations.Fixed);

    /// <summary>Solves for what is in the changing slots and the sources, after <see cref="Prepare"/>.</summary>
    public void Solve(BatchStart start = BatchStart.Nominal)
    {
        Begin(start);
        Run(_kernels.Solve, BatchEquations.Changing, int.MaxValue);
    }

    /// <summary>The same where nothing but sources changed since the last <see cref="Solve"/>.</summary>
    public void SolveSources(BatchStart start = BatchStart.Nominal)
    {
        Begin(start);
        Run(_kernels.SolveSources, BatchEquations.Driving, int.MaxValue);
    }

    /// <summary>What a probe reads in each lane, V or A: meaningful where the lane is settled.</summary>
    public ReadOnlySpan<double> Reading(int probe) => Row(_code.ReadingRows[probe]);

    /// <summary>False where a lane left the pieces of the nominal point, did not settle or lost too many digits: its readings are to be found another way.</summary>
    public bool IsSettled(int lane) => BitConverter.DoubleToInt64Bits(Row(_code.SettledRow)[lane]) != 0;

    /// <summary>True when every lane is settled.</summary>
    public bool AllSettled()
    {
        foreach (long bits in MemoryMarshal.Cast<double, long>(Row(_code.SettledRow)))
        {
            if (bits == 0)
                return false;
        }

        return true;
    }

    private ref double Rows => ref Unsafe.Add(ref MemoryMarshal.GetArrayDataReference(_memory), _origin);

    private Span<double> Row(int row) => _memory.AsSpan(_origin + (row * Lanes), Lanes);

    private void Begin(BatchStart start)
    {
        bool fromLast = start == BatchStart.Last && _hasLast;
        foreach (TapeIteration iteration in _iterations)
        {
            foreach (TapePoint point in iteration.Points)
            {
                Span<double> at = Row(_rowOfInput[point.Input]);
                if (!fromLast)
                {
                    at.Fill(point.Nominal);
                    continue;
                }

                for (int lane = 0; lane < at.Length; lane++)
                {
                    if (!IsSettled(lane))
                        at[lane] = point.Nominal;
                }
            }
        }

        _hasLast = true;
    }

    private void Run(TapeKernel? kernel, int from, int to)
    {
        if (from > BatchEquations.Fixed)
            Array.Clear(_counts);
        if (kernel is not null)
        {
            kernel(ref Rows, ref MemoryMarshal.GetArrayDataReference(_counts));
            return;
        }

        foreach (TapePhase phase in _code.Phases)
        {
            if (phase.Phase < from || phase.Phase > to)
                continue;
            if (phase.Iteration is not { Points.Length: > 0 } iteration)
            {
                TapeInterpreter.Run(phase.Instructions, ref Rows, Lanes);
                continue;
            }

            for (int k = 0; k < MostIterations; k++)
            {
                _counts[(iteration.Phase - BatchEquations.FirstIteration) / 2] = k + 1;
                TapeInterpreter.Run(phase.Instructions, ref Rows, Lanes);
                if (TapeInterpreter.Advance(_code, iteration, ref Rows, Lanes))
                    break;
            }
        }
    }
}
