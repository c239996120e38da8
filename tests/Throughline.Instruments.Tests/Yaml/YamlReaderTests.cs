using System.Text;
using Xunit;

namespace Throughline.Instruments.Tests.Yaml;

public class YamlReaderTests
{
    [Theory]
    [InlineData("a: 1\n[|a|]: 2\n", "duplicate key")]
    [InlineData("a: { b: 1, [|b|]: 2 }\n", "duplicate key")]
    [InlineData("a: 1\n[|---|]\nb: 2\n", "several documents")]
    [InlineData("a:\n[|\t|]- 1\n", "tab")]
    [InlineData("a: [|!!str 5|]\n", "tag")]
    [InlineData("a: [|*b|]\n", "alias")]
    [InlineData("a: &b [1, [|*b|]]\n", "alias")]
    [InlineData("a: x[|\u0007|]y\n", "control character")]
    [InlineData("a: x[|\0|]y\n", "control character")]
    [InlineData("a: [|.inf|]\n", "not finite")]
    [InlineData("a: [|1e999|]\n", "not finite")]
    [InlineData("? [|[1, 2]|]\n: c\n", "key not text")]
    [InlineData("[||]", "empty file")]
    [InlineData("[||]# only a comment\n", "empty file")]
    public void Read_WhatAnInstrumentHasNoUseFor_IsLocated(string marked, string code)
    {
        Marked expected = new(marked);
        DiagnosticSink sink = new();
        YamlReader.Read(new SourceText("t.yaml", expected.Text), sink);
        Diagnostic diagnostic = Assert.Single(sink.ToSorted());
        Assert.Equal(code, diagnostic.Code);
        Assert.Equal((expected.Start, expected.End), (diagnostic.Span.Start, diagnostic.Span.End));
    }

    [Theory]
    [InlineData("a: \"x\n", 1)]
    [InlineData("a: [1, 2\nb: 3\n", 2)]
    [InlineData("a: b: c\n", 1)]
    [InlineData("a: 1\n  b: 2\n", 2)]
    [InlineData("a: { b: 1\n", 2)]
    [InlineData("a: @x\n", 1)]
    [InlineData("a: 1\nb\nc: 2\n", 2)]
    [InlineData("a: \"\\q\"\n", 1)]
    public void Read_SyntaxErrors_AreLocatedAndInOurOwnWords(string text, int line)
    {
        DiagnosticSink sink = new();
        Assert.Null(YamlReader.Read(new SourceText("t.yaml", text), sink));
        Diagnostic diagnostic = Assert.Single(sink.ToSorted());
        Assert.Equal("yaml syntax", diagnostic.Code);
        Assert.InRange(diagnostic.Span.Line, Math.Max(1, line - 1), line + 1);
        Assert.DoesNotContain("While", diagnostic.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("scalar", diagnostic.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_AliasesThatMultiply_AreRefused()
    {
        StringBuilder bomb = new("a: &a [x, x, x, x, x, x, x, x, x, x]\n");
        for (char c = 'b'; c < 'k'; c++)
        {
            bomb.Append(c).Append(": &").Append(c).Append(" [").Append(string.Join(", ", Enumerable.Repeat($"*{(char)(c - 1)}", 10))).Append("]\n");
        }

        DiagnosticSink sink = new();
        Assert.Null(YamlReader.Read(new SourceText("t.yaml", bomb.ToString()), sink));
        Assert.Equal("too much", Assert.Single(sink.ToSorted()).Code);
    }

    [Theory]
    [InlineData("[")]
    [InlineData("{ a: ")]
    [InlineData("- ")]
    [InlineData("? ")]
    public void Read_ManyLevels_AreRefusedEarly(string opening)
    {
        DiagnosticSink sink = new();
        Assert.Null(YamlReader.Read(new SourceText("t.yaml", string.Concat(Enumerable.Repeat(opening, 50_000))), sink));
        Assert.Contains(sink.ToSorted(), d => d.Code is "too deep" or "yaml syntax");
    }

    [Fact]
    public void Read_Aliases_StandForWhatTheyName()
    {
        DiagnosticSink sink = new();
        MapNode root = Assert.IsType<MapNode>(YamlReader.Read(new SourceText("t.yaml", "a: &x { r: 4k7 }\nb: *x\n"), sink));
        Assert.Empty(sink.ToSorted());
        Assert.Same(root["a"], root["b"]);
    }

    [Theory] // CRLF, a character outside the basic plane and quoting must not move what comes after
    [InlineData("a: 1\r\nb: [|xyz|]\r\n")]
    [InlineData("a: 😀\nb: [|xyz|]\n")]
    [InlineData("a: \"\\u00B5\"\nb: [|'xyz'|]\n")]
    [InlineData("a: {c: 1, d: [2, 3]} # z\nb: [|xyz|]")]
    public void Read_Scalars_KnowTheirPlace(string marked)
    {
        Marked expected = new(marked);
        DiagnosticSink sink = new();
        MapNode root = Assert.IsType<MapNode>(YamlReader.Read(new SourceText("t.yaml", expected.Text), sink));
        ScalarNode node = Assert.IsType<ScalarNode>(root["b"]);
        Assert.Equal("xyz", node.Text);
        Assert.Equal((expected.Start, expected.End), (node.Span.Start, node.Span.End));
    }
}
