namespace Throughline.Circuits;

/// <summary>How closely a motion in time is followed. The error of one step of every storage is kept below absolute + relative × state.</summary>
public sealed record TransientSettings
{
    /// <summary>Share of a state, above 0.</summary>
    public double RelativeTolerance { get; init; } = 1e-6;

    /// <summary>Of states that are voltages, V, above 0.</summary>
    public double VoltageTolerance { get; init; } = 1e-9;

    /// <summary>Of states that are currents, A, above 0.</summary>
    public double CurrentTolerance { get; init; } = 1e-12;

    /// <summary>Longest step, s. While storages rest or move evenly only this, breaks and <see cref="Waveform.LongestStep"/> bound a step.</summary>
    public double LongestStep { get; init; } = double.PositiveInfinity;

    /// <summary>Steps, taken or refused, after which a call gives up.</summary>
    public int MostSteps { get; init; } = 1_000_000;
}
