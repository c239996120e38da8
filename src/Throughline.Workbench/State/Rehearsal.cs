using System.Runtime;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>
/// Goes through what an edit brings while nobody edits. The runtime compiles what runs often, anew for how it runs, and until it has, findings take several times as long: a designer's
/// first edits would be the slowest of the day. Nothing of it is seen, and everybody else goes before. Safe on any thread.
/// </summary>
/// <param name="further">The checks beside those of the chain.</param>
/// <param name="isFree">Whether nobody waits for anything.</param>
internal sealed class Rehearsal(IReadOnlyList<IFurtherChecks> further, Func<bool> isFree) : IDisposable
{
    /// <summary>How long nobody must have done anything: within it comes what follows by itself from what was done.</summary>
    private static readonly TimeSpan Quiet = TimeSpan.FromMilliseconds(400);

    /// <summary>Rounds for one file, as long as there is more to compile. Methods are compiled for good after some calls, those of a check that runs once in a round after as many rounds.</summary>
    private const int LeastRounds = 18;

    /// <summary>So many rounds in a row in which few methods are compiled are the last ones: what is left then is what hardly ever runs.</summary>
    private const int SettledRounds = 5;

    private const int Few = 40;

    private readonly Lock _lock = new();
    private readonly Queue<(string Name, string Text, string? Folder)> _files = new();
    private CancellationTokenSource _round = new();
    private long _lastTouch = Environment.TickCount64;
    private bool _isRunning;
    private bool _isOver;

    /// <summary>Rounds for one file, whatever is left to compile.</summary>
    public int MostRounds { get; init; } = 60;

    /// <summary>Raised when there is nothing left to rehearse.</summary>
    public event Action? Ended;

    /// <summary>Has a file rehearsed.</summary>
    /// <param name="folder">Where its parts file may be; null for nowhere.</param>
    public void Begin(string name, string text, string? folder)
    {
        lock (_lock)
        {
            _files.Enqueue((name, text, folder));
            if (!_isRunning && !_isOver)
            {
                _isRunning = true;
                Task.Run(RunAsync);
            }
        }
    }

    /// <summary>Somebody does something: gives up what is being rehearsed and waits until it is quiet again.</summary>
    public void GiveWay()
    {
        lock (_lock)
        {
            _lastTouch = Environment.TickCount64;
            _round.Cancel();
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            _isOver = true;
            _files.Clear();
            _round.Cancel();
        }
    }

    /// <summary>The text with one digit of it another, a different digit in every round, as a hand would edit it; the text itself in every third.</summary>
    internal static string Edited(string text, int round)
    {
        int[] places = [.. Enumerable.Range(1, Math.Max(0, text.Length - 1)).Where(i => char.IsAsciiDigit(text[i]) && text[i - 1] is ' ' or '[' or '(')];
        if (round % 3 == 0 || places.Length == 0)
        {
            return text;
        }

        // A stride without a common divisor goes through the whole file.
        int at = places[(int)(round * 7919L % places.Length)];
        return string.Concat(text.AsSpan(0, at), ((char)('1' + ((text[at] - '0') % 9))).ToString(), text.AsSpan(at + 1));
    }

    private async Task RunAsync()
    {
        while (Next() is var (name, text, folder))
        {
            int settled = 0;
            Review? before = null;
            for (int round = 0; round < MostRounds && (round < LeastRounds || settled < SettledRounds); round++)
            {
                if (await FreeAsync() is not { } cancel)
                {
                    return;
                }

                long compiled = JitInfo.GetCompiledMethodCount();
                try
                {
                    before = Play(name, Edited(text, round), folder, before, cancel);
                }
                catch (OperationCanceledException) when (cancel.IsCancellationRequested)
                {
                    round--;
                    continue;
                }
#pragma warning disable CA1031 // What goes wrong here would go wrong at that very edit, and is told there.
                catch (Exception)
#pragma warning restore CA1031
                {
                    continue;
                }

                settled = JitInfo.GetCompiledMethodCount() - compiled <= Few ? settled + 1 : 0;
            }
        }

        Ended?.Invoke();
    }

    private (string Name, string Text, string? Folder)? Next()
    {
        lock (_lock)
        {
            if (_files.TryDequeue(out (string Name, string Text, string? Folder) file))
            {
                return file;
            }

            _isRunning = false;
            return null;
        }
    }

    /// <summary>Waits until a round may begin. Null when none may any more.</summary>
    private async Task<CancellationToken?> FreeAsync()
    {
        while (true)
        {
            // Asked before the lock is taken: who is asked has one of its own.
            bool mayBegin = isFree();
            lock (_lock)
            {
                if (_isOver)
                {
                    return null;
                }

                if (mayBegin && Environment.TickCount64 - _lastTouch >= Quiet.TotalMilliseconds)
                {
                    _round.Dispose();
                    _round = new CancellationTokenSource();
                    return _round.Token;
                }
            }

            await Task.Delay(Quiet / 4);
        }
    }

    private Review? Play(string name, string text, string? folder, Review? before, CancellationToken cancel)
    {
        if (InstrumentReader.ReadText(name, text, folder) is not { Value: { } instrument, Diagnostics.IsEmpty: true })
        {
            return before;
        }

        LiveChain chain = LiveChain.Of(instrument);
        chain.Scales(chain.Reference.Process);
        Review review = Reviewer.Review(chain, further, cancel);
        if (before is not null)
        {
            Reviewer.Compare(before, review);
        }

        chain.Another().Spread(chain.Reference, cancel: cancel);
        return review;
    }
}
