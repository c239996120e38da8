using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests;

public sealed class InstrumentCompletionTests
{
    private static string Demo { get; } = File.ReadAllText(Repository.PathOf("demo/nutrient-ph/instrument.yaml"));

    // The cursor stands at the bar.
    [Theory]
    [InlineData("|", new[] { "instrument", "specification", "sensor" })]
    [InlineData("instrument: x\nspec|", new[] { "specification" })]
    [InlineData("instrument: x\nsensor:\n  kind: gl|\n", new[] { "glass electrode", "thermocouple" })]
    [InlineData("instrument: x\nsensor: { kind: glass electrode, | }\n", new[] { "zero", "slope", "between" })]
    [InlineData("instrument: x\nstages:\n  - input:\n      parts:\n        R1: { |\n", new[] { "resistor", "op amp", "trimmer" })]
    [InlineData("instrument: x\nstages:\n  - input:\n      parts:\n        R1: { resistor: 10 kΩ, | }\n", new[] { "between" })]
    [InlineData("instrument: x\nloop:\n  |", new[] { "through", "scale", "limits" })]
    [InlineData("instrument: x\nloop:\n  limits: { under: 3.8 mA, |", new[] { "over", "failure" })]
    public void At_InAText_OffersWhatMayStandThere(string marked, string[] offered)
    {
        int cursor = marked.IndexOf('|', StringComparison.Ordinal);
        string[] labels = [.. InstrumentCompletion.At(marked.Remove(cursor, 1), cursor).Options.Select(o => o.Label)];
        Assert.Empty(offered.Except(labels));
    }

    [Fact]
    public void At_AKeyThatIsThere_IsNotOfferedAgain()
    {
        const string text = "instrument: x\nsensor: { kind: glass electrode, zero: 7 pH,  }\n";
        Completion completion = InstrumentCompletion.At(text, text.Length - 3);
        Assert.NotEmpty(completion.Options);
        Assert.DoesNotContain(completion.Options, o => o.Label is "zero" or "kind");
    }

    [Fact]
    public void At_TheNodesOfAPart_OffersTheNamesOfTheFile()
    {
        int place = Demo.IndexOf("between: [A5, vref]", StringComparison.Ordinal) + "between: [".Length;
        string[] labels = [.. InstrumentCompletion.At(Demo, place).Options.Select(o => o.Label)];
        Assert.Contains("probe-return", labels);
        Assert.Contains("zero-top", labels);
    }

    [Fact]
    public void At_EveryPlaceOfADemo_GivesNoExceptionAndALabelThatTheSchemaHas()
    {
        string schema = InstrumentSchema.Create();
        int offered = 0;
        for (int i = 0; i < Demo.Length; i += 37)
        {
            Assert.InRange(InstrumentCompletion.At(Demo, i).From, 0, i);
        }

        for (int i = Demo.IndexOf("{ ", StringComparison.Ordinal); i >= 0; i = Demo.IndexOf("{ ", i + 2, StringComparison.Ordinal))
        {
            foreach (CompletionOption option in InstrumentCompletion.At(Demo, i + 2).Options)
            {
                offered++;
                Assert.Contains($"\"{option.Label}\"", schema, StringComparison.Ordinal);
            }
        }

        Assert.True(offered > 50);
    }

    [Fact]
    public void At_InAComment_OffersNothing()
    {
        const string text = "instrument: x # and th";
        Assert.Empty(InstrumentCompletion.At(text, text.Length).Options);
    }
}
