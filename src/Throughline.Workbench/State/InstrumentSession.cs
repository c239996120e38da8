using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Files;

namespace Throughline.Workbench.State;

/// <summary>
/// One instrument file that is open: its text, what follows from it, the operating point that is being looked at. It outlives the pages: a page that breaks loses
/// nothing. Safe on any thread.
/// </summary>
public sealed class InstrumentSession : IDisposable
{
    /// <summary>Keystrokes that follow each other faster are one edit.</summary>
    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(2);

    /// <summary>Between the findings, or a change of the conditions, and the batch about the line.</summary>
    private static readonly TimeSpan BeforeSpread = TimeSpan.FromMilliseconds(120);

    /// <summary>Of the range: less is a level line.</summary>
    private const double LeastDeparture = 0.01;

    private readonly Lock _lock = new();
    private readonly OpenedFolder _folder;
    private readonly IReadOnlyList<IFurtherChecks> _further;
    private readonly TimeProvider _time;
    private CancellationTokenSource _work = new();
    private CancellationTokenSource _spreadWork = new();
    private SessionState _state;
    private Review? _before;
    private DateTimeOffset _lastEdit = DateTimeOffset.MinValue;
    private (DateTime File, DateTime Parts) _stamp;

    internal InstrumentSession(string name, string path, string text, OpenedFolder folder, IReadOnlyList<IFurtherChecks> further, TimeProvider time)
    {
        Name = name;
        Path = path;
        _folder = folder;
        _further = further;
        _time = time;
        _stamp = Stamp();
        _state = Follow(new SessionState { Text = text, SavedText = text, Revision = 1 }, keepsPlace: false);
        Begin(_state);
    }

    /// <summary>Name in the opened folder.</summary>
    public string Name { get; }

    /// <summary>Its panel, being played.</summary>
    public PanelDesk Panel { get; } = new();

    /// <summary>Where it is.</summary>
    internal string Path { get; }

    /// <summary>The state now.</summary>
    public SessionState State => Volatile.Read(ref _state);

    /// <summary>Whether nothing is being found.</summary>
    internal bool IsAtRest => State is { IsReviewed: true } or { Diagnostics.IsEmpty: false } or { Fault: not null };

    /// <summary>Raised after every change of the state, on whatever thread made it.</summary>
    public event Action? Changed;

    /// <summary>Takes a new text. What follows from it at once is in the state when this returns; findings come after.</summary>
    /// <param name="author">Who edits, see <see cref="SessionState.Author"/>.</param>
    public void Edit(string text, string author) => Edit(text, author, null);

    /// <summary>Replaces what stands now at a place of the last text without a mistake. A value that is a mistake there is not written.</summary>
    /// <param name="trouble">Why it was not; null when it was.</param>
    /// <returns>Whether it was.</returns>
    public bool EditPlace(SourceSpan place, string text, out string? trouble)
    {
        SessionState state = State;
        if (PlaceInText.Find(state, place) is not var (start, end))
        {
            trouble = "the text has changed meanwhile";
            return false;
        }

        string now = string.Concat(state.Text.AsSpan(0, start), text, state.Text.AsSpan(end));
        Parsed<Instrument> parsed = ReadText(now);
        if (PlaceInText.MistakeAt(parsed.Diagnostics, now, start, start + text.Length) is { } mistake)
        {
            trouble = mistake.Message + (mistake.Mend is { } mend ? $" To mend: {mend}." : "");
            return false;
        }

        trouble = null;
        Edit(now, "", parsed);
        return true;
    }

    /// <summary>Moves the operating point.</summary>
    /// <param name="measurand">In the specification's unit; brought into the range of the scales.</param>
    public void MoveTo(double measurand)
    {
        if (!double.IsFinite(measurand))
        {
            return;
        }

        lock (_lock)
        {
            if (_state.Followed is not { } followed)
            {
                return;
            }

            (double low, double high) = Reach(followed);
            _state = Read(_state with { Measurand = Math.Clamp(measurand, low, high) });
        }

        Changed?.Invoke();
    }

    /// <summary>Sets the conditions; each is brought into its rated range.</summary>
    public void SetConditions(Conditions at)
    {
        lock (_lock)
        {
            if (_state.Followed is not { } followed)
            {
                return;
            }

            at = Rated(followed.Instrument, at);
            if (at == _state.At)
            {
                return;
            }

            bool isOtherSensor = at.Process != _state.At.Process;
            _state = _state with
            {
                At = at,
                Spread = [],
                Followed = isOtherSensor ? followed with { Scales = followed.Nominal.Scales(at.Process) } : followed,
            };
            _state = Read(_state);
            BeginSpread(_state);
        }

        Changed?.Invoke();
    }

    /// <summary>Takes a unit of a virtual batch in hand, or the nominal one.</summary>
    public void TakeUnit(UnitChoice? unit)
    {
        lock (_lock)
        {
            if (_state.Followed is { } followed)
            {
                _state = Read(_state with { Unit = unit, Followed = followed with { Chain = ChainOf(followed.Instrument, followed.Nominal, unit) } });
            }
        }

        Changed?.Invoke();
    }

    /// <summary>Lays another text beside.</summary>
    /// <returns>Its mistakes; none when it is laid beside.</returns>
    /// <param name="word">See <see cref="OtherRevision"/>.</param>
    /// <param name="folder">Where its parts file may be; null for where this one's is.</param>
    public ImmutableArray<Diagnostic> LayBeside(string name, string text, string? word = null, string? folder = null)
    {
        Parsed<Instrument> parsed = folder is null ? ReadText(text) : InstrumentReader.ReadText(name, text, folder);
        if (parsed is not { Value: { } instrument, Diagnostics.IsEmpty: true })
        {
            return parsed.Diagnostics;
        }

        LiveChain chain = LiveChain.Of(instrument);
        lock (_lock)
        {
            _state = _state with { Other = new OtherRevision(name, word, instrument, chain, chain.Read(_state.Measurand, _state.At)) };
        }

        Changed?.Invoke();
        return [];
    }

    /// <summary>Takes it away again.</summary>
    public void LayNothingBeside()
    {
        lock (_lock)
        {
            _state = _state with { Other = null };
        }

        Changed?.Invoke();
    }

    /// <summary>Writes the text into the file, whole or not at all.</summary>
    /// <param name="overwrites">Whether what another program wrote meanwhile is given up.</param>
    public void Save(bool overwrites = false)
    {
        lock (_lock)
        {
            CheckDisk();
            if (_state.Theirs is null || overwrites)
            {
                string? trouble = _folder.Find(Name) is { } path && path == Path
                    ? SafeFile.TryReplace(path, _state.Text)
                    : "the file is no longer where it was";
                _stamp = Stamp();
                _state = trouble is null
                    ? _state with { SavedText = _state.Text, Theirs = null, SaveTrouble = null }
                    : _state with { SaveTrouble = trouble };
            }
        }

        Changed?.Invoke();
    }

    /// <summary>Gives up the edits made here for what another program wrote.</summary>
    public void TakeTheirs()
    {
        if (State.Theirs is not { } theirs)
        {
            return;
        }

        Edit(theirs, "");
        lock (_lock)
        {
            _state = _state with { SavedText = theirs, Theirs = null };
        }

        Changed?.Invoke();
    }

    /// <summary>Goes on with the edits made here; the next save replaces what another program wrote.</summary>
    public void KeepMine()
    {
        lock (_lock)
        {
            if (_state.Theirs is { } theirs)
            {
                _state = _state with { SavedText = theirs, Theirs = null };
            }
        }

        Changed?.Invoke();
    }

    /// <summary>Looks whether another program has changed the file or the parts file beside it.</summary>
    internal void Look()
    {
        bool changed;
        lock (_lock)
        {
            changed = CheckDisk();
        }

        if (changed)
        {
            Changed?.Invoke();
        }
    }

    public void Dispose()
    {
        Panel.Dispose();
        _work.Cancel();
        _spreadWork.Cancel();
    }

    private void Edit(string text, string author, Parsed<Instrument>? parsed)
    {
        lock (_lock)
        {
            if (text == _state.Text)
            {
                return;
            }

            DateTimeOffset now = _time.GetUtcNow();
            if (now - _lastEdit > Pause || _before is null)
            {
                _before = _state.IsReviewed ? _state.Review : _before;
            }

            _lastEdit = now;
            _state = Follow(_state with { Text = text, Revision = _state.Revision + 1, Author = author }, keepsPlace: true, parsed);
            Begin(_state);
        }

        Changed?.Invoke();
    }

    private bool CheckDisk()
    {
        (DateTime File, DateTime Parts) stamp = Stamp();
        if (stamp == _stamp)
        {
            return false;
        }

        bool hasOtherParts = stamp.Parts != _stamp.Parts;
        _stamp = stamp;
        string? text = SafeFile.TryRead(Path);
        if (text is not null && text != _state.SavedText)
        {
            bool isQuiet = _state.IsSaved || text == _state.Text;
            _state = isQuiet
                ? Follow(_state with { Text = text, SavedText = text, Theirs = null, Revision = _state.Revision + 1, Author = "" }, keepsPlace: true)
                : _state with { Theirs = text };
            if (isQuiet)
            {
                Begin(_state);
            }

            return true;
        }

        if (hasOtherParts)
        {
            _state = Follow(_state, keepsPlace: true);
            Begin(_state);
        }

        return hasOtherParts;
    }

    private (DateTime File, DateTime Parts) Stamp()
    {
        string folder = System.IO.Path.GetDirectoryName(Path)!;
        return (File.GetLastWriteTimeUtc(Path), File.GetLastWriteTimeUtc(System.IO.Path.Combine(folder, "parts.yaml")));
    }

    private Parsed<Instrument> ReadText(string text) => InstrumentReader.ReadText(Name, text, System.IO.Path.GetDirectoryName(Path));

    /// <summary>What follows at once from the state's text.</summary>
    /// <param name="parsed">Of its text; null when it is still to be read.</param>
    private SessionState Follow(SessionState state, bool keepsPlace, Parsed<Instrument>? parsed = null)
    {
        parsed ??= ReadText(state.Text);
        if (parsed is not { Value: { } instrument, Diagnostics.IsEmpty: true })
        {
            return state with { Diagnostics = parsed.Diagnostics, Fault = null };
        }

        LiveChain nominal = LiveChain.Of(instrument);
        Conditions at = keepsPlace && state.Followed is not null ? Rated(instrument, state.At) : nominal.Reference;
        LiveChain chain = ChainOf(instrument, nominal, state.Unit);
        ImmutableArray<ChainScale> scales = nominal.Scales(at.Process);
        QuantityRange range = instrument.Specification.Range;
        double measurand = keepsPlace && state.Followed is not null ? state.Measurand : FirstLook(nominal, scales, at, range);
        SessionState next = state with
        {
            Diagnostics = [],
            Fault = null,
            Followed = new Followed(instrument, nominal, chain, scales),
            IsReviewed = false,
            At = at,
            Measurand = measurand,
        };
        (double low, double high) = Reach(next.Followed!);
        return Read(next with { Measurand = Math.Clamp(measurand, low, high) });
    }

    /// <summary>
    /// Where a file is looked at first: in the middle of the range, unless the line departs from the intention, then where it does so most. A wrong gain is not to be seen where the signal is zero.
    /// </summary>
    private static double FirstLook(LiveChain chain, ImmutableArray<ChainScale> scales, Conditions at, QuantityRange range)
    {
        double middle = range.Low + (range.Width / 2);
        (double Measurand, double Departure) worst = (middle, LeastDeparture * range.Width);
        foreach (double share in (double[])[0.05, 0.25, 0.5, 0.75, 0.95])
        {
            double measurand = range.Low + (range.Width * share);
            ImmutableArray<double> values = chain.Read(measurand, at).Values;
            double departure = scales.Select(s => Math.Abs(s.LevelOf(values[s.Column]) - measurand)).Where(double.IsFinite).DefaultIfEmpty(0).Max();
            if (departure > worst.Departure * 1.001)
            {
                worst = (measurand, departure);
            }
        }

        return worst.Measurand;
    }

    private static LiveChain ChainOf(Instrument instrument, LiveChain nominal, UnitChoice? unit) =>
        unit is null ? nominal : LiveChain.OfUnit(instrument, unit.Options, unit.Unit);

    private static SessionState Read(SessionState state) => state with
    {
        Reading = state.Followed?.Chain.Read(state.Measurand, state.At),
        Other = state.Other is { } other ? other with { Reading = other.Chain.Read(state.Measurand, state.At) } : null,
    };

    /// <summary>The measurand's ends on its scale.</summary>
    private static (double Low, double High) Reach(Followed followed) =>
        followed.Scales.FirstOrDefault(s => s.Column == 0) is { } scale ? (scale.Measurands[0], scale.Measurands[^1])
        : (followed.Instrument.Specification.Range.Low, followed.Instrument.Specification.Range.High);

    private static Conditions Rated(Instrument instrument, Conditions at)
    {
        Specification s = instrument.Specification;
        double age = s.CalibrationInterval?.Value ?? 0;
        QuantityRange? load = instrument.Loop?.Load;
        return new Conditions(
            Clamp(at.Ambient, s.Ambient.Low, s.Ambient.High),
            Clamp(at.Process, s.Process.Low, s.Process.High),
            Clamp(at.SupplyShift, -1, 1),
            load is { } l ? Clamp(at.Load, l.Low, l.High) : at.Load)
        { AgeSeconds = Clamp(at.AgeSeconds, 0, age) };
        static double Clamp(double value, double low, double high) => double.IsFinite(value) ? Math.Clamp(value, low, high) : (low + high) / 2;
    }

    /// <summary>
    /// Starts what takes longer, and gives up what was being found for an older text. While the text has a mistake the last one without still follows, and what is being
    /// found of it is found to its end: findings and chain are of the same text.
    /// </summary>
    private void Begin(SessionState state)
    {
        if (!state.Diagnostics.IsEmpty)
        {
            return;
        }

        _work.Cancel();
        _work = new CancellationTokenSource();
        if (state.Followed is { } followed)
        {
            // The band of the text before would go on keeping the processors busy.
            _spreadWork.Cancel();
            CancellationToken cancel = _work.Token;
            Review? before = _before;
            Work(() => ReviewText(followed, before, cancel), cancel);
        }
    }

    /// <summary>Runs on another thread; a fault of ours there is told on the page, and the session goes on.</summary>
    private void Work(Action work, CancellationToken cancel) => Task.Run(
        () =>
        {
            try
            {
                work();
            }
            catch (OperationCanceledException) when (cancel.IsCancellationRequested)
            {
                // Text or conditions have moved on.
            }
#pragma warning disable CA1031 // The edge of a background thread: nobody above would hear of it.
            catch (Exception e)
#pragma warning restore CA1031
            {
                Put(s => s with { Fault = $"{e.GetType().Name}: {e.Message}" }, cancel);
            }
        },
        CancellationToken.None);

    private void ReviewText(Followed followed, Review? before, CancellationToken cancel)
    {
        Review review = Reviewer.Review(followed.Nominal, _further, cancel);
        Comparison? moved = before is null ? null : Reviewer.Compare(before, review);
        if (!Put(s => s with { Review = review, IsReviewed = true, Moved = moved is null ? s.Moved : moved.Edits.IsEmpty ? null : moved }, cancel))
        {
            return;
        }

        lock (_lock)
        {
            if (!cancel.IsCancellationRequested)
            {
                BeginSpread(_state);
            }
        }
    }

    private void BeginSpread(SessionState state)
    {
        _spreadWork.Cancel();
        _spreadWork = new CancellationTokenSource();
        if (state.Followed is { } followed)
        {
            CancellationToken cancel = _spreadWork.Token;
            Work(() => FindSpread(followed.Nominal, state.At, cancel), cancel);
        }
    }

    private void FindSpread(LiveChain chain, Conditions at, CancellationToken cancel)
    {
        // What is already found is shown first: the batch would keep every processor busy.
        if (cancel.WaitHandle.WaitOne(BeforeSpread))
        {
            return;
        }

        // Buffers of its own, so that nobody who moves the hand waits for it.
        ImmutableArray<ChainSpread> spread = chain.Another().Spread(at, cancel: cancel);
        Put(s => s with { Spread = spread }, cancel);
    }

    private bool Put(Func<SessionState, SessionState> change, CancellationToken cancel)
    {
        lock (_lock)
        {
            if (cancel.IsCancellationRequested)
            {
                return false;
            }

            _state = change(_state);
        }

        Changed?.Invoke();
        return true;
    }
}
