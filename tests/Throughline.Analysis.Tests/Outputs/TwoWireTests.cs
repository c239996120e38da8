using Throughline.Circuits;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>An instrument on two wires: what its rails take is part of the loop's current, and the output stage adds the rest (Kirchhoff's law; the two-wire
/// circuits of published data sheets, data/circuits/answers.csv, B7).</summary>
public sealed class TwoWireTests
{
    [Fact] // more for the processor moves current from the output transistor to the rail and leaves the loop as it was
    public void Loop_WithMoreDrawn_StaysAsSet()
    {
        Evaluator evaluator = Create();
        int rail = Rail(evaluator, "A3");
        (double light, double transistor) = Solve(evaluator, rail, 0.5e-3, 12e-3);
        (double heavy, double less) = Solve(evaluator, rail, 1.5e-3, 12e-3);
        Assert.Equal(12e-3, light, 40e-6);
        Assert.Equal(light, heavy, 1e-7);
        Assert.Equal(1e-3, transistor - less, 1e-5);
    }

    [Fact] // what is drawn can't be taken back: the loop carries it although less is set
    public void Loop_SetBelowWhatIsDrawn_CarriesWhatIsDrawn()
    {
        Evaluator evaluator = Create();
        int rail = Rail(evaluator, "A3");
        (double loop, double transistor) = Solve(evaluator, rail, 4e-3, 3.6e-3);
        Assert.InRange(loop, 4.5e-3, 6e-3);
        Assert.Equal(0, transistor, 1e-6);
    }

    [Fact] // every ampere of the loop is on a rail: what leaves the loop's rail is the loop's current
    public void Tree_OfTheLoopsRail_SumsToTheLoopsCurrent()
    {
        Evaluator evaluator = Create();
        UnitState state = evaluator.NewState();
        evaluator.Chain(state);
        NetworkRun run = new(evaluator.Model.Field);
        SupplyPoint point = new SupplyTree(run, evaluator.Instrument).Solve(state, "typical", greatest: false)!;
        RailPoint loop = point.Rails.Single(r => r.Supply.Kind == SupplyKind.Loop);
        Assert.Equal(run.Point!.Current(run.Bound.Elements[Model.LoadElement]), loop.OutputAmperes, 1e-12);
        RailPoint rail = point.Rails.Single(r => r.Supply.Name.Value == "A3");
        Assert.Equal(rail.InputAmperes, loop.SupplyAmperes, 1e-15);
        Assert.Equal(60e-6, rail.InputAmperes - rail.OutputAmperes, 1e-12);
    }

    [Fact] // what a switching converter takes from a rail depends on its voltage; that is said, not guessed
    public void Read_OfASwitchingConverterOnTheLoop_SaysSo()
    {
        string text = File.ReadAllText(Repository.PathOf("demo", "loop-powered-level", "instrument.yaml")).Replace("kind: linear regulator, from: LP", "kind: switching converter, from: LP", StringComparison.Ordinal);
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", text, Repository.PathOf("demo", "loop-powered-level"));
        Assert.Contains(read.Diagnostics, d => d.Message.Contains("can't be fed by the loop", StringComparison.Ordinal));
    }

    [Fact] // an instrument that lives on the loop has to have a loop that something feeds
    public void Read_OfALoopThatNothingFeeds_SaysSo()
    {
        string text = File.ReadAllText(Repository.PathOf("demo", "loop-powered-level", "instrument.yaml")).Replace("  supply: 24 V ±15 %\n", "", StringComparison.Ordinal);
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", text, Repository.PathOf("demo", "loop-powered-level"));
        Diagnostic diagnostic = Assert.Single(read.Diagnostics);
        Assert.Equal("`LP` lives on the loop, and nothing feeds the loop.", diagnostic.Message);
        Assert.Equal(text[..text.IndexOf("{ kind: loop,", StringComparison.Ordinal)].Count(c => c == '\n') + 1, diagnostic.Span.Line);
        Assert.Contains("supply: 24 V", diagnostic.Expected, StringComparison.Ordinal);
        Assert.Contains("without `supply`", diagnostic.Found, StringComparison.Ordinal);
        Assert.NotNull(diagnostic.Mend);
    }

    private static Evaluator Create() =>
        new(Model.Compile(InstrumentReader.ReadFile(Repository.PathOf("demo", "loop-powered-level", "instrument.yaml")).Value!));

    private static int Rail(Evaluator evaluator, string name) => evaluator.Instrument.Supplies.Select(s => s.Name.Value).ToList().IndexOf(name);

    private static (double Loop, double Transistor) Solve(Evaluator evaluator, int rail, double drawn, double amperes)
    {
        UnitState state = evaluator.NewState();
        double[] loads = new double[evaluator.Instrument.Supplies.Length];
        loads[rail] = drawn;
        state.FurtherLoads = loads;
        state.DriveVolts = evaluator.OutputCodeOf(amperes) * evaluator.VoltsPerOutputCode;
        NetworkRun run = new(evaluator.Model.Field);
        OperatingPoint point = run.Solve(state, limited: true);
        Assert.Equal(SolveStatus.Solved, point.Status);
        return (point.Current(run.Bound.Elements[Model.LoadElement]), point.CurrentInto(run.Bound.Elements["O.Q1"], 0));
    }
}
