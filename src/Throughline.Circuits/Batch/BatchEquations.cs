namespace Throughline.Circuits;

/// <summary>
/// What elements write their laws into for many units at once: the equations Σ coefficient × unknown + constant = 0 with numbers that are places on a tape.
/// The pieces of piecewise laws are those of the nominal point; what a lane has to fulfil to be in the same pieces is collected.
/// </summary>
internal sealed class BatchEquations
{
    /// <summary>Phase of what depends on nothing but slots that are set once for a unit and a temperature.</summary>
    public const int Fixed = 1;

    /// <summary>Phase of what depends on slots that change the matrix.</summary>
    public const int Changing = 2;

    /// <summary>Phase of what depends on slots that change only the right-hand side.</summary>
    public const int Driving = 3;

    /// <summary>Phase of the first iteration; the next one is that of what follows from its result, and so on in pairs.</summary>
    public const int FirstIteration = 4;

    private readonly Network _network;
    private readonly Workspace _nominal;
    private readonly int[] _slotPhases;
    private readonly Expr?[] _solved;
    private readonly HashSet<int> _asked = [];
    private readonly bool _isSketch;

    /// <param name="network">Whose equations.</param>
    /// <param name="nominal">The nominal operating point.</param>
    /// <param name="slotPhases">Phase of each slot, 0 for a constant one.</param>
    /// <param name="checksLimits">Whether lanes that leave an amplifier's piece are told apart.</param>
    /// <param name="isSketch">True when only the structure is looked for: unknowns may be read before they are solved.</param>
    public BatchEquations(Network network, Workspace nominal, int[] slotPhases, bool checksLimits, bool isSketch)
    {
        _network = network;
        _nominal = nominal;
        _slotPhases = slotPhases;
        _isSketch = isSketch;
        ChecksLimits = checksLimits;
        _solved = new Expr?[network.UnknownCount + 1];
        _solved[^1] = Tape.Constant(0);
        PointPhases = new int[network.StateCount];
        Array.Fill(PointPhases, FirstIteration);
        IsHeld = new bool[network.UnknownCount + 1];
        Rows = new SortedDictionary<int, List<Expr>>[network.UnknownCount];
        Constants = new List<Expr>[network.UnknownCount];
        for (int row = 0; row < Rows.Length; row++)
        {
            Rows[row] = [];
            Constants[row] = [];
        }
    }

    public Tape Tape { get; } = new();

    public bool ChecksLimits { get; }

    /// <summary>Coefficients of each equation by unknown.</summary>
    public SortedDictionary<int, List<Expr>>[] Rows { get; }

    public List<Expr>[] Constants { get; }

    /// <summary>Iteration in which each linearisation point moves.</summary>
    public int[] PointPhases { get; }

    /// <summary>Whether an equation takes part, since something that is asked for depends on it.</summary>
    public bool[] IsHeld { get; }

    /// <summary>Unknowns that were read.</summary>
    public IReadOnlyCollection<int> Asked => _asked;

    /// <summary>What a lane has to fulfil to be settled.</summary>
    public List<Expr> Conditions { get; } = [];

    /// <summary>Next value of each linearisation point that moves, and whether it has arrived.</summary>
    public SortedDictionary<int, (Expr Next, Expr IsSettled)> Steps { get; } = [];

    /// <summary>Number of the input that holds the temperature.</summary>
    public int KelvinInput => _network.SlotCount;

    public int InputCount => _network.SlotCount + 1 + _network.StateCount;

    /// <summary>Unknowns below this are voltages of nodes.</summary>
    public int NodeUnknowns => _network.FreeNodeCount;

    public Expr Constant(double value) => Tape.Constant(value);

    public Expr Slot(int slot) =>
        _slotPhases[slot] == 0 ? Tape.Constant(_nominal.Values[slot]) : Tape.Input(slot, _slotPhases[slot], _nominal.Values[slot]);

    /// <summary>kT/q of an element, V.</summary>
    public Expr Thermal(int element)
    {
        Expr kelvin = Tape.Input(KelvinInput, Fixed, _nominal.ThermalVoltage / NetworkSolver.BoltzmannOverCharge);
        return (kelvin * NetworkSolver.BoltzmannOverCharge) + _nominal.Rises[element];
    }

    public int Mode(int mode) => _nominal.Modes[mode];

    /// <summary>A point to linearise at.</summary>
    public Expr Point(int state) => Tape.Input(PointInput(state), PointPhases[state], _nominal.States[state]);

    /// <summary>Where a point begins: the nominal one to the digits that are the same whatever library computed its exponentials.</summary>
    public double StartOf(int state) => (float)_nominal.States[state];

    public int PointInput(int state) => _network.SlotCount + 1 + state;

    public void Add(int row, int column, Expr coefficient)
    {
        if (row == _network.UnknownCount || column == _network.UnknownCount || coefficient.IsZero)
            return;
        if (!Rows[row].TryGetValue(column, out List<Expr>? terms))
            Rows[row].Add(column, terms = []);
        terms.Add(coefficient);
    }

    public void Add(int row, int column, double coefficient) => Add(row, column, Tape.Constant(coefficient));

    public void Add(int row, Expr constant)
    {
        if (row != _network.UnknownCount && !constant.IsZero)
            Constants[row].Add(constant);
    }

    /// <summary>An unknown that is solved.</summary>
    public Expr X(int unknown)
    {
        _asked.Add(unknown);
        return _solved[unknown]
            ?? (_isSketch ? Tape.Input(InputCount + unknown, FirstIteration, _nominal.X[unknown]) : throw new InvalidOperationException("An unknown is read before it is solved."));
    }

    public void Solve(int unknown, Expr value) => _solved[unknown] = value;

    public void Require(Expr mask) => Conditions.Add(mask);

    /// <summary>Says where a point goes after an iteration, and whether the iteration was already at its end.</summary>
    public void Move(int state, Expr next, Expr isSettled) => Steps[state] = (next, isSettled);

    /// <summary>A power of two that brings a magnitude above 1 to about 1: it rounds nothing, and the last bit of a nominal number does not move it.</summary>
    public static double ScaleOf(double magnitude) => magnitude > 1 && double.IsFinite(magnitude) ? Math.ScaleB(1, -Math.ILogB(magnitude)) : 1;

    public Expr Exp(Expr x) => Tape.Exp(x);

    public Expr RoughLog(Expr x) => Tape.RoughLog(x);

    public Expr Select(Expr mask, Expr a, Expr b) => Tape.Select(mask, a, b);
}
