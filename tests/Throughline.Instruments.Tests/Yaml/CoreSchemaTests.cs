using Xunit;

namespace Throughline.Instruments.Tests.Yaml;

public class CoreSchemaTests
{
    [Theory] // Fact: YAML 1.2.2, section 10.3.2 (tag resolution of the core schema) and example 10.9
    [InlineData("null", ScalarType.Null)]
    [InlineData("NULL", ScalarType.Null)]
    [InlineData("~", ScalarType.Null)]
    [InlineData("", ScalarType.Null)]
    [InlineData("true", ScalarType.Boolean)]
    [InlineData("True", ScalarType.Boolean)]
    [InlineData("FALSE", ScalarType.Boolean)]
    [InlineData("yes", ScalarType.Text)]
    [InlineData("no", ScalarType.Text)]
    [InlineData("on", ScalarType.Text)]
    [InlineData("nULL", ScalarType.Text)]
    [InlineData("tRUE", ScalarType.Text)]
    [InlineData("0", ScalarType.Number)]
    [InlineData("-0", ScalarType.Number)]
    [InlineData("+12", ScalarType.Number)]
    [InlineData("0o7", ScalarType.Number)]
    [InlineData("0x3A", ScalarType.Number)]
    [InlineData("0o8", ScalarType.Text)]
    [InlineData("0x", ScalarType.Text)]
    [InlineData("0.", ScalarType.Number)]
    [InlineData(".5", ScalarType.Number)]
    [InlineData("+12e03", ScalarType.Number)]
    [InlineData("-2E+05", ScalarType.Number)]
    [InlineData(".", ScalarType.Text)]
    [InlineData("1e", ScalarType.Text)]
    [InlineData("1_000", ScalarType.Text)]
    [InlineData("-", ScalarType.Text)]
    [InlineData("4k7", ScalarType.Text)]
    [InlineData("12:30:45", ScalarType.Text)]
    public void Resolve_Scalars_AsTheCoreSchemaSays(string text, object expected) =>
        Assert.Equal((ScalarType)expected, CoreSchema.Resolve(text, out _));

    [Theory] // Fact: YAML 1.2.2, example 10.9
    [InlineData("0o14", 12)]
    [InlineData("0xC", 12)]
    [InlineData("685230.15", 685230.15)]
    [InlineData("6.8523015e+5", 685230.15)]
    [InlineData("-.inf", double.NegativeInfinity)]
    [InlineData(".inf", double.PositiveInfinity)]
    public void Resolve_Numbers_HaveTheirValues(string text, double expected)
    {
        CoreSchema.Resolve(text, out double number);
        Assert.Equal(expected, number);
    }
}
