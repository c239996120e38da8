using System.Globalization;
using Throughline.Circuits;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>An instrument that is nothing but one output stage made of blocks, its input a sensor of which the measurand is the voltage, solved as its file says.</summary>
internal sealed class BlockSketch
{
    /// <summary>Parts with one figure of interest each.</summary>
    private const string Grades = """
        grades:
          op amp:
            ideal: { supply: 1 .. 100 V }
            2 V from its supplies: { output swing: { below positive: 2 V max, above negative: 2 V max } }
            gain of 200 k: { gain: 200000 }
          transistor:
            npn of 100: { polarity: npn, current gain: 100, saturation current: 10 fA }
            pnp of 100: { polarity: pnp, current gain: 100, saturation current: 10 fA }
            pnp of 0.7 V: { polarity: pnp, current gain: 100, saturation current: 0.1465 pA, saturation voltage: 0.2 V }
          isolation amplifier:
            isolating: { withstands: 1.5 kV }
        """;

    private readonly NetworkRun _run;
    private readonly UnitState _state;

    public BlockSketch(string parts, string supplies = "{ P: { kind: dc, voltage: 30 V, return: 0V }, N: { kind: dc, voltage: −30 V, return: 0V } }", string between = "[in, 0V]")
    {
        Model model = Model.Compile(Read($$"""
            instrument: Output stage
            specification: { measurand: pressure, range: 0 .. 100 kPa }
            sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 100 V }, between: {{between}} }
            supplies: {{supplies}}
            stages:
              - output:
                  parts:
                    {{parts.Trim().ReplaceLineEndings("\n").Replace("\n", "\n        ", StringComparison.Ordinal)}}
            """));
        _run = new NetworkRun(model.Field);
        _state = model.CreateState();
    }

    /// <summary>Solves with a voltage at the input.</summary>
    public BlockSketch At(double volts)
    {
        _state.Measurand = volts;
        Assert.Equal(SolveStatus.Solved, _run.Solve(_state, limited: true).Status);
        return this;
    }

    /// <summary>A node above 0V, or above another node.</summary>
    public double Volts(string node, string back = "0V") => Evaluator.Volts(_run, node, back);

    /// <summary>Current through a resistor or out of a source, A.</summary>
    public double Amperes(string element) => _run.Point!.Current(_run.Bound.Elements[element]);

    private static Instrument Read(string text)
    {
        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            File.WriteAllText(Path.Combine(folder, "parts.yaml"), Grades);
            string path = Path.Combine(folder, "instrument.yaml");
            File.WriteAllText(path, text);
            Parsed<Instrument> read = InstrumentReader.ReadFile(path);
            Assert.True(read.Diagnostics.IsEmpty, string.Join("\n", read.Diagnostics.Select(d => $"{d.Span.Line}: {d.Message} {d.Found}")) + "\n" + text);
            return read.Value!;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    public static string Number(double value) => value.ToString("R", CultureInfo.InvariantCulture);
}
