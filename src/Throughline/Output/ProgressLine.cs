using System.Diagnostics;
using Throughline.Analysis;

namespace Throughline.Output;

/// <summary>One line that says how far long work is and how long it will still take; only on a terminal, and gone when the work ends.</summary>
internal sealed class ProgressLine : IDisposable
{
    private static readonly TimeSpan Between = TimeSpan.FromMilliseconds(200);

    private readonly Surroundings _surroundings;
    private readonly Stopwatch _watch = Stopwatch.StartNew();
    private readonly Lock _lock = new();
    private TimeSpan _last;
    private bool _isShown;

    public ProgressLine(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Safe from any thread.</summary>
    public void Show(long done, long all)
    {
        if (_surroundings.ErrorWidth is not { } width || done <= 0)
        {
            return;
        }

        lock (_lock)
        {
            TimeSpan now = _watch.Elapsed;
            if (now - _last < Between)
            {
                return;
            }

            _last = now;
            _isShown = true;
            double remaining = now.TotalSeconds * (all - done) / done;
            string text = $"{Engineering.Fixed(done, 0)} of {Engineering.Fixed(all, 0)} units, {Engineering.Percent((double)done / all, 2)}, {Engineering.Duration(Math.Max(remaining, 0), 2)} to go (Ctrl-C keeps what is done)";
            _surroundings.Error.Write("\r" + (text.Length < width ? text.PadRight(width - 1) : text[..(width - 1)]));
            _surroundings.Error.Flush();
        }
    }

    public void Dispose()
    {
        if (_isShown && _surroundings.ErrorWidth is { } width)
        {
            _surroundings.Error.Write("\r" + new string(' ', width - 1) + "\r");
            _surroundings.Error.Flush();
        }
    }
}
