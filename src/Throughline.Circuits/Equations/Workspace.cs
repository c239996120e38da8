namespace Throughline.Circuits;

/// <summary>
/// The numbers of one solve. Voltages and currents of pinned nodes share the last place of every vector, which is kept at zero, so that
/// elements write without asking where a node is.
/// </summary>
internal sealed class Workspace
{
    public Workspace(int unknowns, int entries, int slots, int states, int modes, int storages, int elements)
    {
        Unknowns = unknowns;
        X = new double[unknowns + 1];
        Residual = new double[unknowns + 1];
        Magnitude = new double[unknowns + 1];
        Matrix = new double[entries + 1];
        Values = new double[slots];
        States = new double[states];
        Modes = new int[modes];
        Rates = new double[storages];
        Histories = new double[storages];
        Rises = new double[elements];
    }

    public int Unknowns { get; }

    /// <summary>Node voltages, V, then the elements' own unknowns.</summary>
    public double[] X { get; }

    /// <summary>What is left of every equation at <see cref="X"/>.</summary>
    public double[] Residual { get; }

    /// <summary>Sum of the magnitudes of every equation's terms: what its residual is measured against.</summary>
    public double[] Magnitude { get; }

    /// <summary>Derivatives of the equations, in the order of the pattern.</summary>
    public double[] Matrix { get; }

    public double[] Values { get; }

    public double[] States { get; }

    public int[] Modes { get; }

    /// <summary>Rate of change of every storage's state, V/s or A/s: 0 at direct current.</summary>
    public double[] Rates { get; }

    /// <summary>What every storage's state would be at the end of a stage in time if it did not move within it, V or A.</summary>
    public double[] Histories { get; }

    /// <summary>Rate per volt or ampere that a state is away from its history, 1/s: above 0 during a stage in time, 0 at direct current.</summary>
    public double StageGain { get; set; }

    /// <summary>kT/q at the network's temperature, V.</summary>
    public double ThermalVoltage { get; set; }

    /// <summary>kΔT/q of every element whose temperature is above or below the network's, V.</summary>
    public double[] Rises { get; }

    /// <summary>kT/q of an element, V.</summary>
    public double ThermalOf(int element) => ThermalVoltage + Rises[element];

    /// <summary>Factor on independent sources, 1 but during continuation.</summary>
    public double Drive { get; set; } = 1;

    /// <summary>Conductance across every junction, S, 0 but during continuation.</summary>
    public double JunctionConductance { get; set; }

    /// <summary>Least reciprocal of an open-loop gain, 0 but during continuation.</summary>
    public double InverseGain { get; set; }

    /// <summary>Whether amplifiers that may latch go from limit to limit; only while the linear piece between them has been seen not to hold.</summary>
    public bool JumpsAcross { get; set; }

    /// <summary>Clears the equations of a block.</summary>
    public void Clear(EquationBlock block)
    {
        foreach ((int start, int length) in block.RowRuns)
        {
            Array.Clear(Residual, start, length);
            Array.Clear(Magnitude, start, length);
        }

        foreach ((int start, int length) in block.EntryRuns)
            Array.Clear(Matrix, start, length);
    }

    /// <summary>Adds a current that leaves a node.</summary>
    public void AddCurrent(int node, double amperes)
    {
        Residual[node] += amperes;
        Magnitude[node] += Math.Abs(amperes);
    }

    public Workspace Clone()
    {
        var copy = new Workspace(Unknowns, Matrix.Length - 1, Values.Length, States.Length, Modes.Length, Rates.Length, Rises.Length) { ThermalVoltage = ThermalVoltage };
        X.CopyTo(copy.X, 0);
        Values.CopyTo(copy.Values, 0);
        States.CopyTo(copy.States, 0);
        Modes.CopyTo(copy.Modes, 0);
        Rates.CopyTo(copy.Rates, 0);
        Rises.CopyTo(copy.Rises, 0);
        return copy;
    }
}
