namespace Throughline.Papers;

/// <summary>A rectangle of a drawing, px.</summary>
public readonly record struct Area(double Left, double Top, double Right, double Bottom)
{
    /// <summary>Whether the two have more than an edge in common.</summary>
    public bool Meets(Area other) => Left < other.Right && other.Left < Right && Top < other.Bottom && other.Top < Bottom;

    /// <summary>The same, further to the right.</summary>
    public Area Moved(double x) => this with { Left = Left + x, Right = Right + x };

    /// <summary>The rectangle about two points, larger by a margin on every side.</summary>
    public static Area About((double X, double Y) a, (double X, double Y) b, double margin) =>
        new(Math.Min(a.X, b.X) - margin, Math.Min(a.Y, b.Y) - margin, Math.Max(a.X, b.X) + margin, Math.Max(a.Y, b.Y) + margin);
}
