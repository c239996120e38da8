using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Evaluates an instrument: the one way in for the command line and every page.</summary>
public static class Reviewer
{
    /// <summary>Runs every check that applies to the instrument.</summary>
    public static Review Review(Instrument instrument) => throw new NotImplementedException();

    /// <summary>The readings at chosen values of the measurand and conditions; null takes the range's ends and quarters, and the reference conditions.</summary>
    public static ReadingsTable Readings(Instrument instrument, IReadOnlyList<double>? measurands = null, Conditions? conditions = null) =>
        throw new NotImplementedException();

    /// <summary>What moved between two revisions.</summary>
    public static Comparison Compare(Instrument old, Instrument @new) => throw new NotImplementedException();
}
