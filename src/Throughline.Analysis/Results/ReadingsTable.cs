using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>One column of the readings table.</summary>
/// <param name="Name">Such as <c>pH</c>, <c>electrode</c>, <c>TP1</c>, <c>code</c>, <c>display</c>, <c>output code</c>, <c>loop</c>.</param>
/// <param name="Unit">SI unit without prefix, the measurand's unit, or empty for a code.</param>
/// <param name="Decimals">Decimals to show after the prefix that <paramref name="Scale"/> stands for.</param>
/// <param name="Scale">Shown value = value / scale: 0.001 for mV and mA.</param>
/// <param name="ShownUnit">Unit with its prefix.</param>
public sealed record ReadingsColumn(string Name, string Unit, int Decimals, double Scale, string ShownUnit);

/// <summary>One row: a value for each column, NaN where there is none, and a word for what is not as it should be.</summary>
/// <param name="Remark">Null, or for example <c>U1 at its positive limit</c>.</param>
public sealed record ReadingsRow(ImmutableArray<double> Values, string? Remark);

/// <summary>What everything should read at a list of values of the measurand, under one set of conditions, on a nominal unit adjusted by its procedure.</summary>
public sealed record ReadingsTable(Conditions Conditions, ImmutableArray<ReadingsColumn> Columns, ImmutableArray<ReadingsRow> Rows);
