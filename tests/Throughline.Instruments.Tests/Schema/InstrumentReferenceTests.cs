using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Schema;

public class InstrumentReferenceTests
{
    [Fact]
    public void CreateMarkdown_IsWhatStandsInDocs() =>
        Assert.Null(Golden.Difference("docs/instrument-file.md", InstrumentReference.CreateMarkdown()));

    [Fact] // An example in the reference that the reader refuses would be worse than none
    public void Shapes_Examples_AreOfTheirShape()
    {
        int checkedExamples = 0;
        foreach (MapShape shape in ShapeWalk.All.OfType<MapShape>().Where(s => s.Example is not null))
        {
            DiagnosticSink sink = new();
            YamlNode node = YamlReader.Read(new SourceText(shape.Title, shape.Example!), sink)!;

            // An example is the map itself, or the map under a name.
            if (node is MapNode { Entries: [{ Value: MapNode inner }] })
            {
                node = inner;
            }

            shape.Check(node, new ShapeContext(sink));
            Assert.Empty(sink.ToSorted().Select(d => $"{shape.Title}: {d.Message}"));
            checkedExamples++;
        }

        Assert.True(checkedExamples > 20);
    }
}
