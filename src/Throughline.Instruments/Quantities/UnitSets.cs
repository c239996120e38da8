using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>The table of units: what the parser takes, what the JSON Schema's patterns are made from, what the reference lists.</summary>
internal static class UnitSets
{
    // Kelvin comes first: UnitSet asks for it while the sets below are built.
    public static readonly ImmutableArray<UnitFamily> KelvinFamilies = [new(Dimension.TemperatureDifference, 1, "m", "K")];

    private const double Minute = 60;
    private const double Hour = 3600;
    private const double Day = 86400;
    private const double Week = 7 * Day;

    /// <summary>The Julian year of 365.25 days (IAU); a month is a twelfth of it.</summary>
    private const double Year = 365.25 * Day;

    private const double Month = Year / 12;

    private static readonly UnitFamily[] Volts = [new(Dimension.Voltage, 1, "numk", "V")];
    private static readonly UnitFamily[] Amperes = [new(Dimension.Current, 1, "fpnum", "A")];
    private static readonly UnitFamily[] Ohms = [new(Dimension.Resistance, 1, "umkMGT", "Ω", "\u2126", "Ohm", "ohm")];
    private static readonly UnitFamily[] Celsius = [new(Dimension.Temperature, 1, "", "°C", "\u2103", "degC", "deg C")];
    private static readonly UnitFamily[] Acidities = [new(Dimension.Acidity, 1, "", "pH")];
    private static readonly UnitFamily[] Percents = [new(Dimension.Ratio, 0.01, "", "%"), new(Dimension.Ratio, 1e-6, "", "ppm")];
    private static readonly UnitFamily[] VoltRatios = [new(Dimension.Ratio, 1, "num", "V/V")];

    private static readonly UnitFamily[] Masses =
        [new(Dimension.Mass, 0.001, "um", "g"), new(Dimension.Mass, 1, "", "kg"), new(Dimension.Mass, 1000, "", "t")];

    private static readonly UnitFamily[] Forces = [new(Dimension.Force, 1, "mkM", "N")];

    private static readonly UnitFamily[] Pressures =
        [new(Dimension.Pressure, 1, "hkM", "Pa"), new(Dimension.Pressure, 1e5, "", "bar"), new(Dimension.Pressure, 100, "", "mbar")];

    private static readonly UnitFamily[] Lengths =
        [new(Dimension.Length, 1, "umk", "m"), new(Dimension.Length, 0.01, "", "cm")];

    private static readonly UnitFamily[] Concentrations =
        [new(Dimension.Concentration, 1000, "num", "mol/L", "mol/l"), new(Dimension.Concentration, 1, "", "mol/m³", "mol/m3")];

    private static readonly UnitFamily[] Frequencies = [new(Dimension.Frequency, 1, "mkMG", "Hz")];
    private static readonly UnitFamily[] Powers = [new(Dimension.Power, 1, "numk", "W")];

    private static readonly (string Text, double Seconds)[] Periods =
        [("s", 1), ("min", Minute), ("h", Hour), ("kh", 1000 * Hour), ("day", Day), ("d", Day), ("week", Week), ("month", Month), ("year", Year)];

    public static readonly UnitSet Voltage = new("a voltage", "2.5 V", Volts);

    public static readonly UnitSet Current = new("a current", "4 mA", Amperes);

    public static readonly UnitSet Resistance = new("a resistance", "4.7 kΩ", Ohms);

    public static readonly UnitSet Capacitance = new("a capacitance", "100 nF", new UnitFamily(Dimension.Capacitance, 1, "fpnum", "F"));

    public static readonly UnitSet Inductance = new("an inductance", "10 mH", new UnitFamily(Dimension.Inductance, 1, "num", "H"));

    public static readonly UnitSet Time = new(
        "a time",
        "5 ms",
        new UnitFamily(Dimension.Time, 1, "num", "s"),
        new UnitFamily(Dimension.Time, Minute, "", "min", "minute", "minutes"),
        new UnitFamily(Dimension.Time, Hour, "", "h", "hour", "hours"),
        new UnitFamily(Dimension.Time, Day, "", "d", "day", "days"),
        new UnitFamily(Dimension.Time, Week, "", "week", "weeks"),
        new UnitFamily(Dimension.Time, Month, "", "month", "months"),
        new UnitFamily(Dimension.Time, Year, "", "year", "years"));

    public static readonly UnitSet Charge = new("a charge", "2.6 Ah", new UnitFamily(Dimension.Charge, Hour, "um", "Ah"), new UnitFamily(Dimension.Charge, 1, "um", "As"));

    public static readonly UnitSet Frequency = new("a frequency", "1 MHz", Frequencies);

    public static readonly UnitSet Temperature = new("a temperature", "25 °C", Celsius);

    public static readonly UnitSet TemperatureDifference = new(
        "a temperature difference", "0.5 K", [.. KelvinFamilies, new UnitFamily(Dimension.TemperatureDifference, 1, "", "°C", "\u2103", "degC", "deg C")]);

    public static readonly UnitSet Power = new("a power", "250 mW", Powers);

    public static readonly UnitSet ThermalResistance = new(
        "a thermal resistance", "65 K/W", new UnitFamily(Dimension.ThermalResistance, 1, "m", "K/W"), new UnitFamily(Dimension.ThermalResistance, 1, "", "°C/W"));

    public static readonly UnitSet Acidity = new("a pH value", "7.00 pH", Acidities);

    public static readonly UnitSet AcidityRate = new(
        "a drift of pH", "0.02 pH/week", [.. Periods.Select(p => new UnitFamily(Dimension.AcidityRate, 1 / p.Seconds, "", "pH/" + p.Text))]);

    public static readonly UnitSet VoltageRate = new(
        "a voltage per time", "1 mV/week", [.. Periods.Select(p => new UnitFamily(Dimension.VoltageRate, 1 / p.Seconds, "num", "V/" + p.Text))]);

    /// <summary>A share per time.</summary>
    public static readonly UnitSet Ageing = new(
        "a drift with time",
        "0.1 %/year",
        [.. Periods.SelectMany(p => Percents.Select(u => new UnitFamily(Dimension.RatioRate, u.Factor / p.Seconds, "", $"{u.Spellings[0]}/{p.Text}"))), new UnitFamily(Dimension.RatioRate, 1, "", "/s")]);

    public static readonly UnitSet SlewRate = new(
        "a slew rate",
        "0.5 V/µs",
        new UnitFamily(Dimension.VoltageRate, 1, "mk", "V/s"),
        new UnitFamily(Dimension.VoltageRate, 1e3, "", "V/ms"),
        new UnitFamily(Dimension.VoltageRate, 1e6, "", "V/\u00B5s", "V/\u03BCs", "V/us"));

    public static readonly UnitSet VoltageNoise = new(
        "a noise voltage", "20 nV/√Hz", new UnitFamily(Dimension.VoltageNoise, 1, "pnum", "V/√Hz", "V/rtHz", "V/sqrtHz"));

    public static readonly UnitSet CurrentNoise = new(
        "a noise current", "1 fA/√Hz", new UnitFamily(Dimension.CurrentNoise, 1, "fpnum", "A/√Hz", "A/rtHz", "A/sqrtHz"));

    public static readonly UnitSet Mass = new("a mass", "25 kg", Masses);

    public static readonly UnitSet Force = new("a force", "2 kN", Forces);

    public static readonly UnitSet Pressure = new("a pressure", "100 kPa", Pressures);

    public static readonly UnitSet Length = new("a length", "5 mm", Lengths);

    public static readonly UnitSet Area = new(
        "an area",
        "2.5 mm²",
        new UnitFamily(Dimension.Area, 1, "", "m²", "m2"),
        new UnitFamily(Dimension.Area, 1e-4, "", "cm²", "cm2"),
        new UnitFamily(Dimension.Area, 1e-6, "", "mm²", "mm2"));

    public static readonly UnitSet Concentration = new("a concentration", "10 mmol/L", Concentrations);

    public static readonly UnitSet Memory = new(
        "a memory size",
        "256 B",
        new UnitFamily(Dimension.Memory, 1, "kM", "B"),
        new UnitFamily(Dimension.Memory, 1024, "", "KiB"),
        new UnitFamily(Dimension.Memory, 1048576, "", "MiB"));

    public static readonly UnitSet ConverterStep = new("a number of converter steps", "2 LSB", new UnitFamily(Dimension.ConverterStep, 1, "", "LSB"));

    public static readonly UnitSet Price = new("a price", "1.20");

    /// <summary>A share, in per cent or ppm.</summary>
    public static readonly UnitSet Percent = new("a percentage", "85 %", Percents);

    /// <summary>A gain: a plain number, V/V or dB.</summary>
    public static readonly UnitSet Gain = new(
        "a gain",
        "10 V/V",
        [.. VoltRatios, new UnitFamily(Dimension.Ratio, 1e3, "", "V/mV"), new UnitFamily(Dimension.Ratio, 1, "", "dB") { IsDecibel = true }]);

    /// <summary>A rejection ratio, in dB or µV/V.</summary>
    public static readonly UnitSet Rejection = new(
        "a rejection ratio", "100 dB", new UnitFamily(Dimension.Ratio, 1, "", "dB") { IsDecibel = true });

    /// <summary>Volt per volt of excitation.</summary>
    public static readonly UnitSet VoltageRatio = new("a voltage ratio", "2 mV/V", new UnitFamily(Dimension.Ratio, 1, "num", "V/V"));

    /// <summary>A plain number.</summary>
    public static readonly UnitSet Number = new("a number", "1.5");

    /// <summary>Writes that a memory endures.</summary>
    public static readonly UnitSet Writes = new(
        "a number of writes",
        "100 k writes",
        new UnitFamily(Dimension.Ratio, 1, "", "writes"),
        new UnitFamily(Dimension.Ratio, 1e3, "", "k writes", "kwrites"),
        new UnitFamily(Dimension.Ratio, 1e6, "", "M writes", "Mwrites"));

    /// <summary>Digits of a meter.</summary>
    public static readonly UnitSet Digits = new("a number of digits", "4.5 digit", new UnitFamily(Dimension.Ratio, 1, "", "digit", "digits"));

    private static readonly UnitFamily[] MeasurandFamilies =
    [
        .. Acidities, .. Celsius, .. KelvinFamilies, .. Volts, .. Amperes, .. Ohms, .. Percents, .. Masses, .. Forces, .. Pressures, .. Lengths,
        .. Concentrations, .. Frequencies, .. VoltRatios, .. Powers,
    ];

    /// <summary>Whatever an instrument may measure; which of them it is, the specification says.</summary>
    public static readonly UnitSet Measurand = new("a value of the measurand", "7.00 pH", MeasurandFamilies);

    /// <summary>What a circuit takes in.</summary>
    public static readonly UnitSet Signal = new("a signal", "250 mV", [.. Volts, .. Amperes, .. Ohms, .. VoltRatios]);

    /// <summary>What a circuit gives.</summary>
    public static readonly UnitSet VoltageOrCurrent = new("a voltage or a current", "2.03 V", [.. Volts, .. Amperes]);

    /// <summary>What feeds a shunt regulator.</summary>
    public static readonly UnitSet ResistanceOrCurrent = new("a resistance or a current", "1.5 kΩ", [.. Ohms, .. Amperes]);

    /// <summary>What the code holds for a voltage: the code itself, or the voltage.</summary>
    public static readonly UnitSet CodeOrVoltage = new("a code or a voltage", "2048", Volts);

    /// <summary>What the bench sets: a signal, or the output code as a plain number.</summary>
    public static readonly UnitSet SignalOrCode = new("a signal", "250 mV", [.. Volts, .. Amperes, .. Ohms, .. VoltRatios]);

    /// <summary>An error of the loop.</summary>
    public static readonly UnitSet VoltageOrPercent = new("a voltage or a share of span", "±0.6 % of span", [.. Volts, .. Percents]);

    public static readonly UnitSet CurrentOrPercent = new("a current or a share of span", "±0.6 % of span", [.. Amperes, .. Percents]);

    /// <summary>The accepted zero of a calibration.</summary>
    public static readonly UnitSet VoltageOrMeasurand = new("a voltage or a value of the measurand", "±60 mV", MeasurandFamilies);

    /// <summary>Every unit there is, to say what was found in the wrong place.</summary>
    public static readonly UnitSet Any = new(
        "a quantity",
        "4.7 kΩ",
        [
            .. new[]
            {
                Voltage, Current, Resistance, Capacitance, Inductance, Time, Frequency, Temperature, TemperatureDifference, Power, ThermalResistance, Acidity,
                AcidityRate, VoltageRate, Ageing, SlewRate, VoltageNoise, CurrentNoise, Mass, Force, Pressure, Area, Concentration, Memory, ConverterStep, Percent,
                Gain, Writes, Digits, Length, Charge,
            }.SelectMany(s => s.Families),
        ]);

    /// <summary>The sets that the reference lists: one for each kind of quantity.</summary>
    public static readonly ImmutableArray<UnitSet> Documented =
    [
        Voltage, Current, Resistance, Capacitance, Inductance, Percent, Gain, VoltageRatio, Rejection, Time, Frequency, Temperature, TemperatureDifference, Acidity,
        AcidityRate, VoltageRate, Ageing, SlewRate, VoltageNoise, CurrentNoise, Mass, Force, Pressure, Length, Area, Concentration, Power, ThermalResistance, Memory,
        ConverterStep, Writes, Digits, Charge,
    ];

    /// <summary>What a kind of quantity is called, with its article.</summary>
    public static string Noun(Dimension dimension) => dimension == Dimension.Ratio ? "a ratio" : Of(dimension).Noun;

    /// <summary>The units of one kind of quantity.</summary>
    public static UnitSet Of(Dimension dimension) => dimension switch
    {
        Dimension.Ratio => Number,
        Dimension.Voltage => Voltage,
        Dimension.Current => Current,
        Dimension.Resistance => Resistance,
        Dimension.Capacitance => Capacitance,
        Dimension.Inductance => Inductance,
        Dimension.Time => Time,
        Dimension.Frequency => Frequency,
        Dimension.Temperature => Temperature,
        Dimension.TemperatureDifference => TemperatureDifference,
        Dimension.Power => Power,
        Dimension.ThermalResistance => ThermalResistance,
        Dimension.Acidity => Acidity,
        Dimension.AcidityRate => AcidityRate,
        Dimension.VoltageRate => VoltageRate,
        Dimension.RatioRate => Ageing,
        Dimension.VoltageNoise => VoltageNoise,
        Dimension.CurrentNoise => CurrentNoise,
        Dimension.Mass => Mass,
        Dimension.Force => Force,
        Dimension.Pressure => Pressure,
        Dimension.Length => Length,
        Dimension.Area => Area,
        Dimension.Concentration => Concentration,
        Dimension.Charge => Charge,
        Dimension.Memory => Memory,
        Dimension.ConverterStep => ConverterStep,
        Dimension.Price => Price,
        _ => throw new ArgumentOutOfRangeException(nameof(dimension), dimension, "Unknown kind of quantity."),
    };
}
