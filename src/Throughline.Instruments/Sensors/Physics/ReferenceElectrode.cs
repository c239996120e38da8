namespace Throughline.Instruments.Physics;

/// <summary>A reference electrode and its potential against the standard hydrogen electrode. Immutable.</summary>
public sealed class ReferenceElectrode
{
    private readonly PiecewiseLinear? _table;
    private readonly (double At25, double PerKelvin)? _line;

    private ReferenceElectrode(string name, params (double Celsius, double Volts)[] table)
    {
        Name = name;
        _table = new PiecewiseLinear(table);
        (LowestCelsius, HighestCelsius) = (_table.LowestX, _table.HighestX);
    }

    private ReferenceElectrode(string name, double low, double high, double at25, double perKelvin)
    {
        (Name, LowestCelsius, HighestCelsius) = (name, low, high);
        _line = (at25, perKelvin);
    }

    public string Name { get; }

    /// <summary>Ends of the temperatures for which values are known, °C.</summary>
    public double LowestCelsius { get; }

    public double HighestCelsius { get; }

    /// <summary>Silver chloride in 3 mol/L KCl, published from 5 to 40 °C.</summary>
    public static ReferenceElectrode SilverChloride3 { get; } = new(
        "Ag/AgCl 3 mol/L KCl",
        (5, 0.221), (10, 0.217), (15, 0.214), (20, 0.210), (25, 0.207), (30, 0.203), (35, 0.200), (40, 0.196));

    /// <summary>Silver chloride in 3.33 mol/L KCl: 206 mV − 0.7 mV/K from 25 °C, 0 to 60 °C.</summary>
    public static ReferenceElectrode SilverChloride333 { get; } = new("Ag/AgCl 3.33 mol/L KCl", 0, 60, 0.206, -0.0007);

    /// <summary>Silver chloride in 3.5 mol/L KCl, published from 15 to 35 °C.</summary>
    public static ReferenceElectrode SilverChloride35 { get; } = new(
        "Ag/AgCl 3.5 mol/L KCl", (15, 0.212), (20, 0.208), (25, 0.205), (30, 0.201), (35, 0.197));

    /// <summary>Silver chloride in 4 mol/L KCl at 25 °C: the 200 mV between the published values of one redox standard against it and against hydrogen.</summary>
    public static ReferenceElectrode SilverChloride4 { get; } = new("Ag/AgCl 4 mol/L KCl", 25, 25, 0.200, 0);

    /// <summary>Silver chloride in saturated KCl, published from 15 to 35 °C.</summary>
    public static ReferenceElectrode SilverChlorideSaturated { get; } = new(
        "Ag/AgCl saturated KCl", (15, 0.209), (20, 0.204), (25, 0.199), (30, 0.194), (35, 0.189));

    /// <summary>Calomel in saturated KCl, published at 25 °C.</summary>
    public static ReferenceElectrode CalomelSaturated { get; } = new("calomel saturated KCl", 25, 25, 0.2444, 0);

    /// <summary>Potential against the standard hydrogen electrode, V; NaN outside the known temperatures.</summary>
    public double Potential(double celsius)
    {
        if (!(celsius >= LowestCelsius && celsius <= HighestCelsius))
        {
            return double.NaN;
        }

        return _line is var (at25, perKelvin) ? at25 + perKelvin * (celsius - 25) : _table!.Y(celsius);
    }

    /// <summary>A potential read against this electrode, on the hydrogen scale, V.</summary>
    public double ToHydrogenScale(double volts, double celsius) => volts + Potential(celsius);
}
