using System.Reflection;
using System.Text;

namespace Throughline.Instruments;

/// <summary>The reference of the instrument file, docs/instrument-file.md: prose around tables that come from the same shapes as the reader.</summary>
public static class InstrumentReference
{
    /// <summary>The whole page.</summary>
    public static string CreateMarkdown()
    {
        string page = Template();
        page = Fill(page, "instrument", writer =>
        {
            writer.Map(InstrumentShape.Root, 3);
            foreach (MapShape section in new[] { SpecificationReader.Shape })
            {
                writer.Map(section, 3);
            }
        });
        page = Fill(page, "sensors", writer => writer.Kinds(SensorKinds.All.Select(k => k.Shape)));
        page = Fill(page, "supplies", writer => writer.Kinds(SupplyReader.Supply.Cases.Select(c => c.Shape)));
        page = Fill(page, "stages", writer => writer.Kinds([StageReader.Circuit, StageReader.Converter, StageReader.Arithmetic, StageReader.OutputConverter, StageReader.PulseWidth]));
        page = Fill(page, "parts", writer => writer.Kinds(PartKinds.Shape.Kinds));
        page = Fill(page, "networks", writer => writer.Kinds([NetworkReader.Network]));
        page = Fill(page, "output", writer => writer.Kinds([LoopReader.Shape, VoltageOutputReader.Shape, CalibrationReader.Shape, AdjustmentReader.Step, BenchReader.Shape, CostReader.Shape, MemoryReader.Shape, MemoryReader.Record, PanelReader.Shape, PanelReader.Screen, PanelReader.Translation, PanelReader.Entry]));
        page = Fill(page, "spread", writer => writer.Kinds([SpreadReader.Shape]));
        page = Fill(page, "grades", writer => writer.Kinds([.. Grades.All.Select(g => g.Shape), Block.Definition, CostReader.Prices]));
        page = Fill(page, "generic", writer => writer.Generic());
        page = Fill(page, "units", writer => writer.Units());
        page = Fill(page, "codes", writer => writer.Codes());
        return page;
    }

    private static string Fill(string page, string name, Action<Writer> write)
    {
        Writer writer = new();
        write(writer);
        return page.Replace($"{{{{{name}}}}}\n", writer.ToString(), StringComparison.Ordinal);
    }

    private static string Template()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("instrument-file.md")
            ?? throw new InvalidOperationException("The reference's template is not in the assembly.");
        using StreamReader reader = new(stream);
        return reader.ReadToEnd();
    }

    private sealed class Writer
    {
        private readonly StringBuilder _text = new();
        private readonly HashSet<MapShape> _written = [];

        public override string ToString() => _text.ToString().TrimEnd('\n') + "\n";

        public void Kinds(IEnumerable<MapShape> shapes)
        {
            foreach (MapShape shape in shapes)
            {
                Map(shape, 3);
            }
        }

        public void Map(MapShape shape, int level)
        {
            if (!_written.Add(shape))
            {
                return;
            }

            Line($"{new string('#', level)} {MapShape.Capital(shape.Title)}");
            Line("");
            Line(shape.Doc);
            Line("");
            if (shape.Example is not null)
            {
                Line("```yaml");
                Line(shape.Example);
                Line("```");
                Line("");
            }

            Line("| key | | value | when left out |");
            Line("|---|---|---|---|");
            foreach (Key key in shape.Keys)
            {
                bool choice = shape.ExactlyOneOf.Any(g => g.Contains(key.Name));
                string absent = key.IsRequired ? "required" : choice ? "one of the ways" : key.Default ?? "";
                Line($"| `{key.Name}` | {Cell(key.Doc)} | {Cell(ValueText(key.Shape))} | {Cell(absent)} |");
            }

            Line("");
            if (shape.ExactlyOneOf.Length > 0)
            {
                Line("Exactly one of " + string.Join(", or ", shape.ExactlyOneOf.Select(g => string.Join(" with ", g.Select(k => $"`{k}`")))) + ".");
                Line("");
            }

            foreach (MapShape inner in shape.Keys.SelectMany(k => InnerMaps(k.Shape)))
            {
                Map(inner, level + 1);
            }
        }

        public void Generic()
        {
            Line("| kind | grades |");
            Line("|---|---|");
            foreach ((string kind, _) in Grades.All)
            {
                Line($"| {kind} | {string.Join(", ", PartsLibrary.Generic.GradeNames(kind).Select(n => $"`{n}`"))} |");
            }

            Line("");
            Line("| block | terminals | values |");
            Line("|---|---|---|");
            foreach (Block block in PartsLibrary.Generic.BlockNames.Select(n => PartsLibrary.Generic.Block(n)!))
            {
                Line($"| `{block.Name}` | {string.Join(", ", block.Terminals.Select(t => $"`{t}`"))} | {string.Join(", ", block.Values.Select(v => $"`{v.Name}` ({v.Unit})"))} |");
            }
        }

        public void Units()
        {
            Line("| kind of quantity | units | prefixes | example |");
            Line("|---|---|---|---|");
            foreach (UnitSet set in UnitSets.Documented)
            {
                string units = string.Join(", ", set.Families.SelectMany(f => f.Spellings).Distinct().Where(s => s != "\u2126" && s != "\u2103").Select(s => $"`{s}`"));
                string prefixes = string.Join(' ', set.Families.SelectMany(f => f.Prefixes).Distinct().OrderBy(SiPrefix.Exponent).Select(c => c == 'u' ? "\u00B5" : c.ToString()));
                Line($"| {set.Noun} | {units} | {prefixes} | {set.Example} |");
            }
        }

        public void Codes()
        {
            Line("| class | codes |");
            Line("|---|---|");
            foreach (IGrouping<DiagnosticClass, string> group in Instruments.Codes.All.GroupBy(c => c.Value, c => c.Key).OrderBy(g => g.Key))
            {
                Line($"| {group.Key.ToString().ToLowerInvariant()} | {string.Join(", ", group.Order(StringComparer.Ordinal))} |");
            }
        }

        private void Line(string line) => _text.Append(line).Append('\n');

        private static string Cell(string text) => text.Replace("|", "\\|", StringComparison.Ordinal);

        private static string ValueText(Shape shape) => shape switch
        {
            MapShape map => $"a map, see *{MapShape.Capital(map.Title)}*",
            EitherShape either => string.Join(" or ", either.Alternatives.Select(ValueText).Distinct()),
            ListShape { Item: MapShape item } => $"a list of maps, see *{MapShape.Capital(item.Title)}*",
            _ => shape.Expected,
        };

        private static IEnumerable<MapShape> InnerMaps(Shape shape) => shape switch
        {
            // Grades have a chapter of their own.
            MapShape map when Grades.All.Any(g => g.Shape == map) => [],
            MapShape map when Sections.Contains(map) => [],
            MapShape map => [map],
            EitherShape either => either.Alternatives.SelectMany(InnerMaps),
            ListShape list => InnerMaps(list.Item),
            _ => [],
        };

        private static readonly HashSet<MapShape> Sections =
            [SpecificationReader.Shape, LoopReader.Shape, CalibrationReader.Shape, BenchReader.Shape, SpreadReader.Shape, CostReader.Shape, MemoryReader.Shape, PanelReader.Shape];
    }
}
