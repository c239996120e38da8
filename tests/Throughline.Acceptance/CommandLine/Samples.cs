using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Acceptance;

/// <summary>Results made by hand, with every case that a page has to show. Their figures stand for nothing.</summary>
internal static class Samples
{
    public const string Text =
        """
        instrument: Vat pH transmitter
        revision: B
        stages:
          - input:
              parts:
                R1: { resistor: 20.0 kV ±1 %, between: [amp, wiper] }
        """;

    public static SourceText Source { get; } = new("vat/instrument.yaml", Text);

    public static SourceSpan SpanOf(string text, SourceText? source = null)
    {
        int start = (source ?? Source).Content.IndexOf(text, StringComparison.Ordinal);
        return start < 0 ? throw new ArgumentException(text) : new SourceSpan(source ?? Source, start, start + text.Length);
    }

    public static Instrument Instrument { get; } = new()
    {
        Name = new("Vat pH transmitter", SpanOf("Vat pH transmitter")),
        Revision = new Located<string>("B", SpanOf("B")),
        Specification = new()
        {
            Measurand = new("pH", default),
            Unit = "pH",
            Dimension = default,
            Range = new(default, 3, 9, default, ""),
            Ambient = new(default, 5, 45, default, ""),
            Process = new(default, 10, 35, default, ""),
        },
        Sensor = null!,   // a page shows results and never looks at the sensor
        Source = Source,
    };

    public static Finding Headroom { get; } = new(
        "headroom at amplifier output", "U1", "input", Outcome.NotMet,
        "At 3.00 pH, 45 °C and the low supply, the output of U1 should reach 4.97 V and can reach 4.75 V.", -0.34,
        [new("needed", 4.97, "V"), new("greatest possible", 4.75, "V")],
        "Lower the gain of the stage to 1.25 or less, or feed U1 from a higher rail.", SpanOf("R1"));

    public static Finding Step { get; } = new(
        "display step against converter step", "display", "reading", Outcome.Marginal,
        "One step of the converter is 0.0093 pH, and the display shows 0.01 pH.", 0.07,
        [new("converter step", 0.0093, "pH"), new("display step", 0.01, "pH")],
        "Take a converter of 13 bits or average 4 readings.", SpanOf("stages"));

    public static Finding Bias { get; } = new(
        "bias current times source resistance", "U1", "input", Outcome.Met,
        "50 fA through 600 MΩ is 30 µV, 0.0005 pH.", 0.99,
        [new("shift", 3e-5, "V"), new("allowed", 0.003, "V")], null, SpanOf("R1"));

    public static Finding Range { get; } = new(
        "converter range not exceeded", "reading", "reading", Outcome.Met,
        "Codes run from 512 to 3 600 of 4 095.", 0.12,
        [new("least code", 512, ""), new("greatest code", 3600, ""), new("undefined", double.NaN, "")], null, default);

    public static ReadingsTable Readings { get; } = new(
        new Conditions(25, 25, 0, 250),
        [
            new("pH", "pH", 2, 1, "pH"), new("electrode", "V", 2, 0.001, "mV"), new("TP1", "V", 4, 1, "V"),
            new("code", "", 0, 1, ""), new("display", "pH", 2, 1, "pH"), new("loop", "A", 3, 0.001, "mA"),
        ],
        [
            new([3, 0.23662, 1.98834, 3257, 3, 0.004], null),
            new([6, 0.05916, 1.43458, 2350, 6, 0.012], null),
            new([9, -0.11831, 0.8808, double.NaN, double.NaN, 0.0206], "U1 at its negative limit"),
        ]);

    public static Review Review { get; } = new(Instrument, [Bias, Headroom, Step, Range], Readings)
    {
        WorstCases =
        [
            new("input", "U1 output", 0.412, 4.97, "V", 0.05, 4.75),
            new("input", "TP1", 0.4119, 2.0312, "V", double.NegativeInfinity, double.PositiveInfinity),
        ],
    };

    public static Review SoundReview { get; } = new(Instrument, [Bias, Range], Readings);

    public static ResponseReport Response { get; } = new()
    {
        CornerHertz = 15.9155,
        Rejection50 = 300,
        Rejection60 = 63.534,
        ConverterT90 = 0.0230259,
        AveragingSeconds = 0.32,
        OutputT90 = 0.00041,
        DisplayT90 = 0.30512,
        LoopT90 = 0.30553,
        Frequencies = [new(1, -0.0171, -3.6, -0.021), new(10, -1.448, -32.1, -21.3), new(50, -10.36, -72.3, -300), new(1000, -35.97, -89.1, -52.4)],
        Step = [.. Enumerable.Range(0, 41).Select(i => new StepPoint(i * 0.01, 1 - Math.Pow(2, -i), Math.Min(1, i / 32.0)))],
        NoiseRms = 0.000542,
        Noise = [new("R7", "thermal", 0.0005, 0.851), new("U1", "voltage", 0.000209, 0.1488), new("quantisation", "step of the converter", 7.7e-6, 0.0002)],
        Loops =
        [
            new("U1", "input", 181.8e3, 89.96, double.PositiveInfinity), new("U3", "output", 927e3, 12.31, 1.7),
            new("U4", "output", double.NaN, double.PositiveInfinity, double.PositiveInfinity),
        ],
        IsStable = true,
    };

    public static ErrorBudgetReport Budget { get; } = new(
        [3, 9],
        [BudgetMoment.AsBuilt, BudgetMoment.AfterCalibration, BudgetMoment.Rated],
        [
            BudgetOf(BudgetOutput.Display, BudgetMoment.AsBuilt, 3, 1, 1, 0.0123), BudgetOf(BudgetOutput.Display, BudgetMoment.AfterCalibration, 3, 1, 0, 0),
            BudgetOf(BudgetOutput.Display, BudgetMoment.Rated, 3, 1, 0.02, 0), BudgetOf(BudgetOutput.Display, BudgetMoment.AsBuilt, 9, 1, 1.5, -0.1),
            BudgetOf(BudgetOutput.Display, BudgetMoment.AfterCalibration, 9, 1, 0, 0), BudgetOf(BudgetOutput.Display, BudgetMoment.Rated, 9, 1, 0.3, 0) with { FullHigh = 0.31 },
            BudgetOf(BudgetOutput.Loop, BudgetMoment.AsBuilt, 3, 16e-3 / 6, 1, 1e-6), BudgetOf(BudgetOutput.Loop, BudgetMoment.AfterCalibration, 3, 16e-3 / 6, 0, 0),
            BudgetOf(BudgetOutput.Loop, BudgetMoment.Rated, 3, 16e-3 / 6, 0.02, 0),
        ]);

    /// <summary>A budget whose lines are scaled from those of a gain, which a calibration takes away, and of a step, which nothing does.</summary>
    private static BudgetTable BudgetOf(BudgetOutput output, BudgetMoment moment, double x, double scale, double left, double nominal)
    {
        BudgetLine Line(string name, string owner, string stage, string unit, double limit, double effect, double share) =>
            new(name, owner, stage, unit, limit, effect / limit, effect, effect / Math.Sqrt(3), share, SpanOf("R1"));
        return new BudgetTable(
            output, moment, x,
            [
                Line("R1 resistance", "R1", "input", "Ω", 200, 0.06 * left * scale, 0.6 * left),
                Line("sensor drift", "sensor", "sensor", "pH/s", 3.3e-8, 0.01 * left * scale, 0.3 * left),
                Line("step of the display", "display", "display", "pH", 0.005, 0.005 * scale, 1 - (0.9 * left)),
                Line("U1 open-loop gain", "U1", "input", "", 9e4, 1e-7 * scale, 0),
                Line("reading nonlinearity", "reading", "reading", "LSB", 2, 2e-3 * scale, 0.04),
                Line("R2 resistance drift", "R2", "input", "Ω/K", 0.25, 2e-8 * scale, 0),
                Line("U1 common-mode error", "U1", "input", "", 3e-5, 3e-3 * scale, 0.01),
            ])
        {
            NominalError = nominal,
            MeanError = nominal,
            StraightSum = ((0.07 * left) + 0.01) * scale,
            RootSumOfSquares = ((0.061 * left) + 0.005) * scale,
            StandardUncertainty = ((0.035 * left) + 0.003) * scale,
            EffectiveDegreesOfFreedom = moment == BudgetMoment.Rated ? 57.3 : double.PositiveInfinity,
            CoverageFactor = 1.96,
            ExpandedUncertainty = 1.96 * ((0.035 * left) + 0.003) * scale,
            Allowed = 0.02 * scale,
            Span = 6 * scale,
            FullLow = -((0.07 * left) + 0.0099) * scale,
            FullHigh = nominal + (((0.07 * left) + 0.0101) * scale),
        };
    }

    public static FaultTable Faults { get; } = new(6,
    [
        new("sensor open", "sensor", 7.02, 0.01072, FaultEffect.Hidden, null, SpanOf("stages")),
        new("sensor short", "sensor", 7, 0.010667, FaultEffect.Hidden, null, SpanOf("stages")),
        new("A5 missing", "supplies", double.NaN, 0.0036, FaultEffect.Signalled, null, default),
        new("R1 open", "input", 2.9, 0.0038, FaultEffect.AtLimit, "U1 at its positive limit", SpanOf("R1")),
        new("R1 short", "input", 6.91, 0.01443, FaultEffect.Hidden, null, SpanOf("R1")),
        new("U1 open at minus", "input", double.NaN, double.NaN, FaultEffect.Undefined, "The node U1.lifted floats: nothing says its voltage.", SpanOf("R1")),
        new("C3 open", "input", 6, 0.012, FaultEffect.Harmless, null, SpanOf("R1")),
    ]);

    public static Comparison Comparison { get; } = new(
        SoundReview with { Instrument = Instrument with { Revision = new Located<string>("A", default) } },
        Review,
        [
            new("stages / input / R1 / resistor", "20.0 kΩ ±1 %", "22.0 kΩ ±1 %", SpanOf("20.0 kV ±1 %")),
            new("stages / input / C4", null, "100 nF", SpanOf("R1")),
            new("panel / keys", "4", null, default),
        ],
        [
            new("input", "TP1 at 3.00 pH", 1.98834, 2.13, "V", true),
            new("reading", "code at 3.00 pH", 3257, 3490, "", true),
            new("output", "loop at 3.00 pH", 0.004, 0.004, "A", false),
        ],
        [new(Headroom with { Outcome = Outcome.Met }, Headroom), new(Range, Range with { Margin = 0.2 }), new(null, Step), new(Bias, null)],
        ["input", "reading"],
        ["sensor", "output"]);

    public static Diagnostic WrongUnit { get; } = new(
        "wrong-unit", SpanOf("20.0 kV"), "The resistance has the unit of a voltage.", "a resistance, such as 4.7 kΩ", "20.0 kV", "Write 20.0 kΩ.");

    public static Diagnostic Missing { get; } = new(
        "missing-file", new SourceSpan(new SourceText("nowhere.yaml", ""), 0, 0), "The file can't be read.", "an instrument file", "no file of that name");

    /// <summary>An engine that reads anything as the sample, except files whose names say that they are broken.</summary>
    public static Engine Engine { get; } = new()
    {
        Read = file => file switch
        {
            "broken.yaml" => new Parsed<Instrument>(null, [WrongUnit, WrongUnit with { Message = "Another.", Mend = null }]),
            "nowhere.yaml" => new Parsed<Instrument>(null, [Missing]),
            "sound.yaml" => new Parsed<Instrument>(Instrument with { Revision = null }, []),
            _ => new Parsed<Instrument>(Instrument, []),
        },
        Review = instrument => instrument.Revision is null ? SoundReview : Review,
        Readings = (_, at, conditions) => Readings with
        {
            Conditions = conditions ?? Readings.Conditions,
            Rows = at is null ? Readings.Rows : [.. at.Select(value => new ReadingsRow([value, .. Readings.Rows[0].Values.Skip(1)], null))],
        },
        ReferenceConditions = _ => Readings.Conditions,
        Budget = (_, _) => Budget,
        Response = _ => Response,
        Faults = _ => Faults,
        Compare = (_, _) => Comparison,
        Schema = () => "{}",
    };
}
