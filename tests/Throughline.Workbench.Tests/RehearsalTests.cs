using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>The rehearsal of edits goes through reviews, waits for everybody else, and ends.</summary>
public sealed class RehearsalTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Begin_WhileNobodyDoesAnything_GoesThroughItsRoundsAndEnds()
    {
        using DemoFolder folder = new();
        CountingChecks checks = new();
        await RunAsync(folder, checks, () => true, rounds: 4);

        // Rounds 0 and 3 have the text itself; the edits of the others may be mistakes, which are reviewed no further.
        Assert.InRange(checks.Runs, 2, 4);
    }

    [Fact]
    public async Task Begin_WhileSomethingIsBeingFound_Waits()
    {
        using DemoFolder folder = new();
        CountingChecks checks = new();
        bool isFree = false;
        Task run = RunAsync(folder, checks, () => Volatile.Read(ref isFree), rounds: 1);
        await Task.Delay(1000, Cancel);
        Assert.Equal(0, checks.Runs);
        Volatile.Write(ref isFree, true);
        await run;
        Assert.Equal(1, checks.Runs);
    }

    [Fact]
    public async Task GiveWay_InTheMiddleOfARound_HasItBegunAgain()
    {
        using DemoFolder folder = new();
        TaskCompletionSource ended = new(TaskCreationOptions.RunContinuationsAsynchronously);
        Rehearsal? rehearsal = null;
        CountingChecks checks = new() { OnFirst = () => rehearsal!.GiveWay() };
        using (rehearsal = new Rehearsal([checks], () => true) { MostRounds = 1 })
        {
            rehearsal.Ended += () => ended.TrySetResult();
            Begin(rehearsal, folder);
            await ended.Task.WaitAsync(TimeSpan.FromMinutes(2), Cancel);
        }

        Assert.Equal(2, checks.Runs);
    }

    [Fact]
    public void Edited_RoundAfterRound_ChangesOneDigitOfTheFile()
    {
        using DemoFolder folder = new();
        string text = File.ReadAllText(folder.PathOf("nutrient-ph/instrument.yaml"));
        HashSet<int> places = [];
        for (int round = 0; round < 60; round++)
        {
            string edited = Rehearsal.Edited(text, round);
            Assert.Equal(text.Length, edited.Length);
            int[] changed = [.. Enumerable.Range(0, text.Length).Where(i => text[i] != edited[i])];
            Assert.Equal(round % 3 == 0 ? 0 : 1, changed.Length);
            Assert.All(changed, i => Assert.True(char.IsAsciiDigit(text[i]) && char.IsAsciiDigit(edited[i])));
            places.UnionWith(changed);
        }

        Assert.Equal(40, places.Count);
    }

    [Theory]
    [InlineData("")]
    [InlineData("7")]
    [InlineData("no digit anywhere")]
    public void Edited_OfATextWithoutANumber_IsTheText(string text) => Assert.Equal(text, Rehearsal.Edited(text, 1));

    private static async Task RunAsync(DemoFolder folder, CountingChecks checks, Func<bool> isFree, int rounds)
    {
        TaskCompletionSource ended = new(TaskCreationOptions.RunContinuationsAsynchronously);
        using Rehearsal rehearsal = new([checks], isFree) { MostRounds = rounds };
        rehearsal.Ended += () => ended.TrySetResult();
        Begin(rehearsal, folder);
        await ended.Task.WaitAsync(TimeSpan.FromMinutes(2), Cancel);
    }

    private static void Begin(Rehearsal rehearsal, DemoFolder folder)
    {
        string path = folder.PathOf("duct-temperature/instrument.yaml");
        rehearsal.Begin("duct-temperature/instrument.yaml", File.ReadAllText(path), Path.GetDirectoryName(path));
    }

    private sealed class CountingChecks : IFurtherChecks
    {
        private int _runs;

        public int Runs => Volatile.Read(ref _runs);

        public Action? OnFirst { get; init; }

        public System.Collections.Immutable.ImmutableArray<CheckDescription> Descriptions => [];

        public IEnumerable<Finding> Run(Instrument instrument)
        {
            if (Interlocked.Increment(ref _runs) == 1)
            {
                OnFirst?.Invoke();
            }

            return [];
        }
    }
}
