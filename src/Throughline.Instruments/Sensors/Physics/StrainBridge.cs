namespace Throughline.Instruments.Physics;

/// <summary>Which arms of a bridge carry gauges and what each sees.</summary>
public enum BridgeConfiguration
{
    /// <summary>One gauge.</summary>
    Quarter,

    /// <summary>Two gauges in one half, +ε and −ε: a beam in bending.</summary>
    HalfBending,

    /// <summary>Two gauges in one half, +ε and −νε: along and across the stress.</summary>
    HalfPoisson,

    /// <summary>Two gauges in opposite arms, both +ε.</summary>
    HalfDiagonal,

    /// <summary>Four gauges, +ε, −ε, +ε, −ε: a beam in bending.</summary>
    FullBending,

    /// <summary>Four gauges on a beam in bending, a pair along and a pair across on each face.</summary>
    FullBendingPoisson,

    /// <summary>Four gauges on a column, two along and two across.</summary>
    FullAxial,
}

/// <summary>
/// Output of a bridge of four resistances under voltage drive, exact by its node equations. Arm 1 lies from excitation plus to signal plus, 2 from
/// signal plus to excitation minus, 3 from excitation plus to signal minus, 4 from signal minus to excitation minus: the output rises when 2 or 3 rise.
/// </summary>
public static class StrainBridge
{
    /// <summary>Open-circuit output over excitation, V/V, of the relative changes of the four arms.</summary>
    public static double Output(double arm1, double arm2, double arm3, double arm4) =>
        (1 + arm2) / (2 + arm1 + arm2) - (1 + arm4) / (2 + arm3 + arm4);

    /// <summary>Relative changes of the four arms.</summary>
    /// <param name="configuration">Where the gauges are.</param>
    /// <param name="change">Relative change of a gauge along the stress: gauge factor × strain.</param>
    /// <param name="poisson">Poisson's ratio of what they are bonded to.</param>
    public static (double Arm1, double Arm2, double Arm3, double Arm4) Arms(BridgeConfiguration configuration, double change, double poisson)
    {
        double along = change, across = -poisson * change;
        return configuration switch
        {
            BridgeConfiguration.Quarter => (0, along, 0, 0),
            BridgeConfiguration.HalfBending => (-along, along, 0, 0),
            BridgeConfiguration.HalfPoisson => (across, along, 0, 0),
            BridgeConfiguration.HalfDiagonal => (0, along, along, 0),
            BridgeConfiguration.FullBending => (-along, along, along, -along),
            BridgeConfiguration.FullBendingPoisson => (-along, along, -across, across),
            BridgeConfiguration.FullAxial => (across, along, along, across),
            _ => throw new ArgumentOutOfRangeException(nameof(configuration), configuration, "Not a configuration."),
        };
    }

    /// <summary>Open-circuit output over excitation, V/V.</summary>
    public static double Output(BridgeConfiguration configuration, double change, double poisson)
    {
        (double a1, double a2, double a3, double a4) = Arms(configuration, change, poisson);
        return Output(a1, a2, a3, a4);
    }
}
