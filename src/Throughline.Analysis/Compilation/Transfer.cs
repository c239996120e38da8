using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Lines one behind the other: what a row of stages is meant to do together.</summary>
public sealed record Transfer(ImmutableArray<Line> Lines)
{
    public double Forward(double value)
    {
        foreach (Line line in Lines)
        {
            value = line.Forward(value);
        }

        return value;
    }

    public double Inverse(double value)
    {
        for (int i = Lines.Length - 1; i >= 0; i--)
        {
            value = Lines[i].Inverse(value);
        }

        return value;
    }
}
