using System.Collections.Concurrent;
using Throughline.Analysis;
using Throughline.Workbench.Files;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>One open file without any page.</summary>
public sealed class InstrumentSessionTests : IDisposable
{
    private const string Name = "nutrient-ph/instrument.yaml";
    private readonly DemoFolder _folder = new();
    private readonly Workspace _workspace;
    private readonly InstrumentSession _session;

    public InstrumentSessionTests()
    {
        _workspace = new Workspace(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        _session = _workspace.Open(Name)!;
    }

    public void Dispose()
    {
        _workspace.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Edit_WithAMistake_KeepsWhatFollowedBefore()
    {
        Followed before = _session.State.Followed!;
        _session.Edit(_session.State.Text.Replace("kind: glass electrode", "kind: gas electrode", StringComparison.Ordinal), "me");
        Assert.NotEmpty(_session.State.Diagnostics);
        Assert.Same(before, _session.State.Followed);
        Assert.True(_session.State.IsStale);
        Assert.False(_session.State.IsSaved);
    }

    [Theory]
    [InlineData("nutrient-ph/instrument.yaml", 6.5)]
    [InlineData("nutrient-ph/flawed/01-gain.yaml", 4.25)]
    public void File_Opened_IsLookedAtWhereItDepartsMostFromTheIntention(string name, double measurand)
    {
        // The electrode gives nothing at its zero point of pH 7: the wrong gain shows most at the far end, pH 4.25 rather than 8.75.
        InstrumentSession session = _workspace.Open(name)!;
        Assert.Equal(measurand, session.State.Measurand);
    }

    [Fact]
    public async Task Edit_OfAValue_SaysWhatMoved()
    {
        await UntilAsync(s => s.IsReviewed);
        ConcurrentQueue<SessionState> seen = [];
        _session.Changed += () => seen.Enqueue(_session.State);
        _session.Edit(_session.State.Text.Replace("42.2 kΩ", "52.3 kΩ", StringComparison.Ordinal), "me");
        await UntilAsync(s => s.IsReviewed && s.Moved is not null);
        Assert.All(seen, s => Assert.Equal(s.IsReviewed, s.Moved is not null));
        Comparison moved = _session.State.Moved!;
        Edit edit = Assert.Single(moved.Edits);
        Assert.Contains("R1", edit.Path, StringComparison.Ordinal);
        Assert.Contains(moved.Turned, t => t.New is { Outcome: Outcome.NotMet });
    }

    [Fact]
    public async Task Edit_ToAMistakeBeforeTheFindingsAreThere_FindsThoseOfTheLastTextWithout()
    {
        _session.Edit(_session.State.Text.Replace("R1:   { resistor: 42.2 kΩ", "R1:   { resistor: 47.5 kΩ", StringComparison.Ordinal), "me");
        _session.Edit(_session.State.Text.Replace("47.5 kΩ ±1 %", "47.5 kΩ ±±1 %", StringComparison.Ordinal), "me");
        Assert.NotEmpty(_session.State.Diagnostics);
        Assert.False(_session.State.IsReviewed);
        using CancellationTokenSource late = new(TimeSpan.FromSeconds(60));
        while (!_session.State.IsReviewed)
        {
            await Task.Delay(20, late.Token);
        }

        Assert.NotEmpty(_session.State.Diagnostics);
        Assert.Same(_session.State.Followed!.Instrument, _session.State.Review!.Instrument);
        Assert.InRange(_session.State.Review.NotMet, 1, 20);
    }

    [Fact]
    public void EditPlace_OfASpan_ChangesThatTextAlone()
    {
        string before = _session.State.Text;
        Instruments.SourceSpan place = _session.State.Followed!.Instrument.Revision!.Value.Span;
        Assert.True(_session.EditPlace(place, "B", out _));
        Assert.Equal(before.Replace("revision: A", "revision: B", StringComparison.Ordinal), _session.State.Text);

        // The place was of the text before: it is not guessed at.
        Assert.False(_session.EditPlace(place, "C", out _));
    }

    [Fact]
    public void Save_IntoAFolderThatIsGone_KeepsTheText()
    {
        _session.Edit(_session.State.Text + "# more\n", "me");
        Directory.Delete(_folder.PathOf("nutrient-ph"), recursive: true);
        _session.Save();
        Assert.NotNull(_session.State.SaveTrouble);
        Assert.EndsWith("# more\n", _session.State.Text, StringComparison.Ordinal);
        Assert.False(_session.State.IsSaved);
    }

    [Fact]
    public void Save_OverAnotherProgramsText_AsksFirst()
    {
        string path = _folder.PathOf(Name);
        _session.Edit(_session.State.Text + "# mine\n", "me");
        File.WriteAllText(path, File.ReadAllText(path) + "# theirs\n");
        File.SetLastWriteTimeUtc(path, File.GetLastWriteTimeUtc(path).AddSeconds(3));
        _session.Save();
        Assert.NotNull(_session.State.Theirs);
        Assert.EndsWith("# theirs\n", File.ReadAllText(path), StringComparison.Ordinal);
        _session.KeepMine();
        _session.Save();
        Assert.EndsWith("# mine\n", File.ReadAllText(path), StringComparison.Ordinal);
        Assert.True(_session.State.IsSaved);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(1e300)]
    [InlineData(-1e300)]
    public void MoveTo_AnyNumber_StaysOnTheScale(double measurand)
    {
        _session.MoveTo(measurand);
        Assert.InRange(_session.State.Measurand, 3, 10);
        _session.SetConditions(new Conditions(measurand, measurand, measurand, measurand) { AgeSeconds = measurand });
        Assert.InRange(_session.State.At.Ambient, 5, 45);
        Assert.InRange(_session.State.At.SupplyShift, -1, 1);
    }

    [Fact]
    public void TakeUnit_OfABatch_ReadsAsThatUnitDoes()
    {
        BatchOptions options = new() { Seed = 7 };
        _session.TakeUnit(new UnitChoice(options, 41));
        UnitReport report = Batch.RunUnit(_session.State.Followed!.Instrument, options, 41);
        double[] nominal = [.. _session.State.Followed.Nominal.Read(6.5, _session.State.At).Values];
        double[] unit = [.. _session.State.Followed.Chain.Read(6.5, _session.State.At).Values];
        Assert.NotEqual(nominal, unit);

        // At the moment after its calibration the unit is read under the reference conditions.
        UnitReading calibrated = report.Readings.First(r => r.Moment == Moment.Calibrated && Math.Abs(r.Point - 6.5) < 1e-9);
        int display = _session.State.Followed.Chain.Columns.ToList().FindIndex(c => c.Name == "display");
        Assert.Equal(6.5 + calibrated.DisplayError, unit[display], 0.011);
    }

    [Theory]
    [InlineData("new")]
    [InlineData("nutrient-ph/branch")]
    public void Create_InAFreeFolder_WritesAnInstrument(string folder)
    {
        (string? name, string? trouble) = _workspace.Create(folder);
        Assert.Null(trouble);
        Assert.NotNull(_workspace.Open(name!)!.State.Followed);
    }

    [Theory]
    [InlineData("")]
    [InlineData("..")]
    [InlineData("../out")]
    [InlineData("/tmp/out")]
    [InlineData("nutrient-ph")]
    [InlineData("a\u0000b")]
    public void Create_InAFolderThatIsNone_WritesNothing(string folder)
    {
        (string? name, string? trouble) = _workspace.Create(folder);
        Assert.Null(name);
        Assert.NotNull(trouble);
        Assert.False(Path.Exists(Path.Combine(_folder.Outer, "out")));
    }

    private async Task UntilAsync(Func<SessionState, bool> isSo)
    {
        using CancellationTokenSource late = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        late.CancelAfter(TimeSpan.FromSeconds(60));
        TaskCompletionSource done = new(TaskCreationOptions.RunContinuationsAsynchronously);
        await using CancellationTokenRegistration registration = late.Token.Register(() => done.TrySetCanceled(late.Token));
        void Look()
        {
            if (isSo(_session.State))
            {
                done.TrySetResult();
            }
        }

        _session.Changed += Look;
        Look();
        await done.Task;
        _session.Changed -= Look;
    }
}
