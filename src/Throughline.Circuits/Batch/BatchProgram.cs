namespace Throughline.Circuits;

/// <summary>
/// One network made ready for many units at once: the order of elimination is found on a nominal point, and what is computed is sorted by how often it changes.
/// Immutable, shared between threads; numbers flow through a <see cref="BatchRun"/>.
/// </summary>
/// <remarks>
/// Every lane is in the pieces of piecewise laws in which the nominal point is: an amplifier linear, or at the limit where it nominally is, a transistor with a
/// stated saturation voltage active or saturated. A lane that would leave them is not settled and has to be solved by a <see cref="NetworkSolver"/>. Of several
/// operating points, such as a latch has, a lane takes the one that hangs together with the nominal one.
/// </remarks>
public sealed class BatchProgram
{
    /// <summary>Lanes of a run are a multiple of this: the widest vector there is.</summary>
    public const int LaneMultiple = 8;

    /// <summary>Relative error from which a solution is worth correcting.</summary>
    private const double GreatestError = 1e-12;

    private readonly double[] _nominal;
    private readonly int[] _phases;
    private readonly Dictionary<int, TapeKernels> _kernels = [];

    private BatchProgram(Network network, OperatingPoint nominal, int[] phases, CompiledTape tape)
    {
        _phases = phases;
        Network = network;
        Source = tape;
        Code = new TapeCode(tape);
        _nominal = new double[network.SlotCount + 1];
        nominal.Workspace.Values.CopyTo(_nominal, 0);
        _nominal[^1] = nominal.Workspace.ThermalVoltage / NetworkSolver.BoltzmannOverCharge;
    }

    public Network Network { get; }

    /// <summary>Number of probes.</summary>
    public int ReadingCount => Source.Readings.Count;

    /// <summary>Floating-point operations of one <see cref="BatchRun.Solve"/> for one unit: a multiply-add is two, a comparison, a selection or a move is none.</summary>
    /// <param name="iterations">Iterations of each nonlinear block on the way: <see cref="BatchRun.Iterations"/>.</param>
    public double OperationsPerSolve(ReadOnlySpan<double> iterations)
    {
        double sum = 0;
        foreach (TapePhase phase in Code.Phases)
        {
            if (phase.Phase < BatchEquations.Changing)
                continue;
            int once = 0;
            foreach (TapeInstruction instruction in phase.Instructions)
            {
                once += instruction.Op switch
                {
                    TapeOp.MultiplyAdd or TapeOp.MultiplySubtract => 2,
                    TapeOp.Add or TapeOp.Subtract or TapeOp.Multiply or TapeOp.Divide => 1,
                    _ => 0,
                };
            }

            sum += once * (phase.Iteration is { } iteration ? iterations[(iteration.Phase - BatchEquations.FirstIteration) / 2] : 1);
        }

        return sum;
    }

    internal CompiledTape Source { get; }

    internal TapeCode Code { get; }

    /// <summary>Makes a program, and tries it on a few units beside the scalar solver: where small currents beside great ones lose digits, every solution is
    /// corrected once by what it leaves of the equations, which takes twice the time.</summary>
    /// <param name="network">The network.</param>
    /// <param name="nominal">Its solved operating point at the nominal values and temperature; rises of single parts over the temperature are taken from it too.</param>
    /// <param name="probes">What is read. Parts that no probe depends on are left out.</param>
    /// <param name="slots">Which slots vary, and how often.</param>
    /// <param name="checksLimits">Whether amplifiers' limits are looked at. Without, a lane's amplifiers go on in their nominal piece.</param>
    /// <exception cref="ArgumentException">The point is not solved or of another network, or a slot is named twice.</exception>
    /// <exception cref="ArgumentOutOfRangeException">A slot is not of this network.</exception>
    public static BatchProgram Create(Network network, OperatingPoint nominal, ReadOnlySpan<Probe> probes, BatchSlots slots, bool checksLimits = true)
    {
        ArgumentNullException.ThrowIfNull(network);
        ArgumentNullException.ThrowIfNull(nominal);
        ArgumentNullException.ThrowIfNull(slots);
        if (nominal.Status != SolveStatus.Solved || !ReferenceEquals(nominal.Network, network))
            throw new ArgumentException("The nominal point is a solved one of the same network.", nameof(nominal));
        var phases = new int[network.SlotCount];
        Mark(phases, slots.Fixed.AsSpan(), BatchEquations.Fixed);
        Mark(phases, slots.Changing.AsSpan(), BatchEquations.Changing);
        Mark(phases, slots.Sources.AsSpan(), BatchEquations.Driving);
        BatchProgram Compile(Probe[] asked, bool refines) =>
            new(network, nominal, phases, new BatchCompiler(network, nominal, asked, phases, checksLimits, refines).Compile());

        Probe[] asked = probes.ToArray();
        BatchProgram program = Compile(asked, refines: false);
        (int settled, double worst) = BatchTrial.Run(program, nominal, asked, slots);
        if (settled == LaneMultiple && worst <= GreatestError)
            return program;
        BatchProgram refined = Compile(asked, refines: true);
        (int refinedSettled, double refinedWorst) = BatchTrial.Run(refined, nominal, asked, slots);
        return refinedSettled > settled || (refinedSettled == settled && refinedWorst < 0.5 * worst) ? refined : program;
    }

    /// <summary>A run with buffers of its own: one per thread. Every lane begins with the nominal values.</summary>
    /// <param name="lanes">Units solved at once: a multiple of <see cref="LaneMultiple"/>, best 32 or 64.</param>
    /// <param name="isCompiled">Whether to make machine code of the program, which takes some ten milliseconds the first time and then is several times as fast.
    /// Readings are the same bits.</param>
    /// <exception cref="ArgumentOutOfRangeException">The number of lanes is not such a multiple above 0.</exception>
    public BatchRun CreateRun(int lanes = 32, bool isCompiled = true)
    {
        if (lanes <= 0 || lanes % LaneMultiple != 0)
            throw new ArgumentOutOfRangeException(nameof(lanes), lanes, $"Lanes are a multiple of {LaneMultiple}.");
        return new BatchRun(this, lanes, isCompiled ? KernelsFor(lanes) : new TapeKernels(null, null, null));
    }

    private TapeKernels KernelsFor(int lanes)
    {
        lock (_kernels)
        {
            if (!_kernels.TryGetValue(lanes, out TapeKernels? kernels))
            {
                TapeKernel? Compile(int from, int to) => TapeEmitter.TryCompile(Code, lanes, from, to, BatchRun.MostIterations);
                kernels = new TapeKernels(
                    Compile(BatchEquations.Fixed, BatchEquations.Fixed), Compile(BatchEquations.Changing, int.MaxValue), Compile(BatchEquations.Driving, int.MaxValue));
                _kernels.Add(lanes, kernels);
            }

            return kernels;
        }
    }

    /// <summary>Whether lanes have a number of their own for a slot, or for the temperature, which comes after the last slot.</summary>
    internal bool IsVarying(int input) => input == _phases.Length || _phases[input] > 0;

    /// <summary>Whether anything that is read follows a slot: those of parts that no probe depends on, and those that do not vary, need not be filled.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The slot is not of this network.</exception>
    public bool Reads(int slot)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual((uint)slot, (uint)Network.SlotCount, nameof(slot));
        return Code.RowOfInput[slot] >= 0;
    }

    internal double NominalInput(int input) => _nominal[input];

    private static void Mark(int[] phases, ReadOnlySpan<int> slots, int phase)
    {
        foreach (int slot in slots)
        {
            if ((uint)slot >= (uint)phases.Length)
                throw new ArgumentOutOfRangeException(nameof(slots), slot, "The slot is not of this network.");
            if (phases[slot] != 0)
                throw new ArgumentException($"Slot {slot} is named twice.", nameof(slots));
            phases[slot] = phase;
        }
    }
}
