namespace Throughline.Instruments;

/// <summary>A part whose heat is limited.</summary>
public interface IRated
{
    /// <summary>What it stands; null when its grade says nothing.</summary>
    PowerRating? Rating { get; }
}
