using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Papers;
using Throughline.Testing;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Drawings of circuits, read back: what they say is what the file says, and nothing lies on anything else.</summary>
public sealed class CircuitLayoutTests
{
    private const double Near = 1e-6;

    public static TheoryData<string> Files =>
        [.. Directory.EnumerateFiles(Repository.PathOf("demo"), "instrument.yaml", SearchOption.AllDirectories)
            .Concat(Directory.EnumerateFiles(Repository.PathOf("tests", "cases"), "*.yaml"))
            .Select(f => Path.GetRelativePath(Repository.Root, f).Replace('\\', '/')).Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Files))]
    public void Layout_OfAFile_SaysItsConnectionsAndOverlapsNowhere(string file)
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf(file)).Value);
        Assert.NotEmpty(LayoutsOf(instrument));
        Assert.Equal("", Mistakes(instrument));
    }

    [Fact]
    public void Layout_OfInstrumentsThatNobodyWouldDraw_SaysTheirConnectionsAndOverlapsNowhere() =>
        Assert.Equal("", string.Concat(Enumerable.Range(0, 120).Select(n => Mistakes(OddInstruments.Create(n)))));

    /// <summary>Common practice of circuit diagrams, no source: signals run from left to right, so what goes into an amplifier stands on its left and its output on its right.</summary>
    [Fact]
    public void InstrumentationAmplifier_HasItsInputsOnTheLeftAndItsOutputOnTheRight()
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "hopper-bridge", "instrument.yaml")).Value);
        PlacedPart amplifier = LayoutsOf(instrument).SelectMany(l => l.Layout.Parts).First(p => p.Part is InstrumentationAmplifier);
        Assert.All(amplifier.Leads.Where(l => l.Terminal is "plus" or "minus" or "reference"), l => Assert.Equal(amplifier.Body.Left, l.Path[0].X));
        Assert.Equal(amplifier.Body.Right, amplifier.Leads.Single(l => l.Terminal == "out").Path[0].X);
        (CircuitStage stage, CircuitLayout layout) = LayoutsOf(instrument).First();
        string drawing = CircuitDrawing.Draw(stage, layout, ImmutableDictionary<string, double>.Empty, ImmutableHashSet<string>.Empty);
        Assert.All(">+<  >−<  >REF<  >OUT<".Split("  "), mark => Assert.Contains(mark, drawing, StringComparison.Ordinal));
        Assert.DoesNotMatch("font-size=\"([0-9]|10)(\\.[0-9]+)?\"", drawing);
    }

    [Fact]
    public void Mistake_IsSeen()
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml")).Value);
        (CircuitStage stage, CircuitLayout layout) = LayoutsOf(instrument).First();
        PlacedPart first = layout.Parts[0];
        Assert.Contains("overlap", Mistakes(stage, layout.Nodes, [.. layout.Parts, first with { Part = layout.Parts[1].Part }]), StringComparison.Ordinal);
        Assert.Contains("parts", Mistakes(stage, layout.Nodes, layout.Parts[1..]), StringComparison.Ordinal);
        PlacedPart astray = layout.Parts[^1] with { Leads = [.. layout.Parts[^1].Leads.Select(l => l with { Path = [.. l.Path.Select(p => (p.X, p.Y + 3))] })] };
        Assert.Contains("ends beside", Mistakes(stage, layout.Nodes, [.. layout.Parts[..^1], astray]), StringComparison.Ordinal);
    }

    [Fact]
    public void Height_IsVoltage()
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml")).Value);
        ImmutableSortedDictionary<string, double> volts = VoltsOf(instrument);
        foreach ((CircuitStage _, CircuitLayout layout) in LayoutsOf(instrument))
        {
            double[] downwards = [.. layout.Nodes.OrderBy(n => n.Y).Select(n => volts[n.Name])];
            Assert.Equal(downwards.OrderDescending(), downwards);
        }
    }

    private static string Mistakes(Instrument instrument) => string.Concat(LayoutsOf(instrument).Select(p => Mistakes(p.Stage, p.Layout.Nodes, p.Layout.Parts)));

    private static string Mistakes(CircuitStage stage, ImmutableArray<NodeLine> nodes, ImmutableArray<PlacedPart> parts)
    {
        List<string> found = [];

        // Every part once, every terminal on its node.
        if (!parts.Select(p => p.Part.Name.Value).Order().SequenceEqual(stage.Parts.Select(p => p.Name.Value).Order()))
        {
            found.Add("parts are not those of the file");
        }

        foreach (PlacedPart part in parts)
        {
            string name = part.Part.Name.Value;
            if (!part.Leads.Select(l => (l.Terminal, l.Node)).Order().SequenceEqual(part.Part.Terminals.Select(t => (t.Name, t.Node.Value)).Order()))
            {
                found.Add($"{name} has other leads than terminals");
            }

            foreach (CircuitLead lead in part.Leads.Where(l => !l.IsRail))
            {
                (double x, double y) = lead.Path[^1];
                NodeLine line = nodes.Single(n => n.Name == lead.Node);
                if (Math.Abs(line.Y - y) > Near || x < line.From - Near || x > line.To + Near)
                {
                    found.Add($"{name} {lead.Terminal} ends beside {lead.Node}");
                }
            }
        }

        // Lines of two nodes never run into each other: they may only cross.
        found.AddRange(nodes.GroupBy(n => n.Y).Where(g => g.Count() > 1).Select(g => $"{string.Join(' ', g.Select(n => n.Name))} are one line"));
        (CircuitLead Lead, (double X, double Y) A, (double X, double Y) B)[] runs = [.. parts.SelectMany(p => p.Leads).SelectMany(l => l.Path.Zip(l.Path.Skip(1), (a, b) => (l, a, b)))];
        for (int i = 0; i < runs.Length; i++)
        {
            for (int j = i + 1; j < runs.Length; j++)
            {
                if (runs[i].Lead.Node != runs[j].Lead.Node && Together(runs[i].A, runs[i].B, runs[j].A, runs[j].B))
                {
                    found.Add($"leads of {runs[i].Lead.Node} and {runs[j].Lead.Node} overlap");
                }
            }
        }

        // Nor does a lead run over a rail's mark or name, or over a symbol or words of another part.
        foreach (PlacedPart part in parts)
        {
            Area[] own = [.. new[] { part.Body, part.Words }.Where(a => a != default)];
            foreach ((CircuitLead lead, (double X, double Y) a, (double X, double Y) b) in runs)
            {
                Area run = Area.About(a, b, 0.5);
                if (!part.Leads.Contains(lead) && own.Any(run.Meets))
                {
                    found.Add($"a lead of {lead.Node} runs over {part.Part.Name.Value}");
                }

                if (part.Leads.Any(l => l.IsRail && l != lead && (run.Meets(l.Label) || run.Meets(Area.About(l.Path[^1], l.Path[^1], 4)))))
                {
                    found.Add($"a lead of {lead.Node} runs over a rail of {part.Part.Name.Value}");
                }
            }
        }

        (string What, Area Area)[] areas =
        [
            .. parts.Select(p => (p.Part.Name.Value, p.Body)),
            .. parts.Where(p => p.Words != default).Select(p => ($"words of {p.Part.Name.Value}", p.Words)),
            .. parts.SelectMany(p => p.Leads.Where(l => l.IsRail).Select(l => ($"{l.Node} at {p.Part.Name.Value}", l.Label))),
            .. nodes.Select(n => (n.Name, n.Label)),
        ];
        for (int i = 0; i < areas.Length; i++)
        {
            found.AddRange(areas[(i + 1)..].Where(a => a.Area.Meets(areas[i].Area)).Select(a => $"{areas[i].What} and {a.What} overlap"));
        }

        return found.Count == 0 ? "" : $"{stage.Name.Value}: {string.Join("; ", found)}\n";
    }

    /// <summary>Whether two level or upright runs have a length in common.</summary>
    private static bool Together((double X, double Y) a, (double X, double Y) b, (double X, double Y) c, (double X, double Y) d)
    {
        static double Common(double a, double b, double c, double d) => Math.Min(Math.Max(a, b), Math.Max(c, d)) - Math.Max(Math.Min(a, b), Math.Min(c, d));
        return (a.X == b.X && c.X == d.X && Math.Abs(a.X - c.X) < Near && Common(a.Y, b.Y, c.Y, d.Y) > Near)
            || (a.Y == b.Y && c.Y == d.Y && Math.Abs(a.Y - c.Y) < Near && Common(a.X, b.X, c.X, d.X) > Near);
    }

    private static IEnumerable<(CircuitStage Stage, CircuitLayout Layout)> LayoutsOf(Instrument instrument)
    {
        ImmutableSortedDictionary<string, double> volts = VoltsOf(instrument);
        return instrument.Stages.OfType<CircuitStage>().Where(s => !s.Parts.IsEmpty).Select(s => (s, CircuitLayout.Of(s, volts, CircuitLayout.RailsOf(instrument))));
    }

    private static ImmutableSortedDictionary<string, double> VoltsOf(Instrument instrument)
    {
        LiveChain chain = LiveChain.Of(instrument);
        return chain.Read(instrument.Specification.Range.Middle, chain.Reference).Nodes;
    }
}
