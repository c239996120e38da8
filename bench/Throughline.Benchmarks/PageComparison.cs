using System.Diagnostics;
using System.Globalization;
using Microsoft.Playwright;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>
/// What a person at the workbench waits for, in a real browser and from the program as it is installed: the first page, the nomogram and the findings after an edit of one
/// digit, frames while the hand is dragged. Beside them the same review in this process, so that a busy machine shows: one column is how many of those an edit takes, another how much
/// longer than at best a fixed piece of work took between the edits, which on a machine shared with others is up to twice as long.
/// </summary>
internal static class PageComparison
{
    private const int Edits = 31;

    private static double _leastWork = double.PositiveInfinity;

    /// <summary>Edits before those that are timed, told in a column of their own.</summary>
    private const int FirstEdits = 12;

    /// <summary>ms between the findings of an opened file and its first edit: one who opens a file reads it first. In this time the workbench rehearses edits.</summary>
    private const int Reading = 20_000;

    /// <summary>Changes the first digit of the first resistor again and again, and times each change until the line has moved and until the findings are painted.</summary>
    private const string EditScript = """
        async count => {
            const content = document.querySelector(".cm-content");
            const view = (content.cmTile ?? content.cmView)?.view;
            if (!view) throw new Error("The editor is not where it was.");
            const times = [];
            for (let i = 0; i < count; i++) {
                const doc = view.state.doc.toString();
                const found = /resistor: (\d)/.exec(doc);
                const at = found.index + found[0].length - 1;
                const before = document.querySelector("#line").getAttribute("d");
                let line = 0, wasOld = false;
                const start = performance.now();
                const painted = new Promise(done => {
                    const look = new MutationObserver(() => {
                        if (!line && document.querySelector("#line").getAttribute("d") !== before) line = performance.now() - start;
                        const isOld = document.querySelector("#counts").dataset.old === "true";
                        wasOld ||= isOld;
                        if (wasOld && !isOld) {
                            look.disconnect();
                            requestAnimationFrame(() => setTimeout(() => done(performance.now() - start)));
                        }
                    });
                    look.observe(document.body, { subtree: true, childList: true, attributes: true });
                });
                view.dispatch({ changes: { from: at, to: at + 1, insert: String(+doc[at] % 9 + 1) } });
                const all = await painted;
                times.push([line || all, all]);
                await new Promise(r => setTimeout(r, 600));
            }
            return times;
        }
        """;

    /// <summary>Counts frames and changes of the line until it is told to stop.</summary>
    private const string FrameScript = """
        () => {
            const seen = window.seen = { frames: 0, moves: 0, longest: 0, start: performance.now(), isOver: false };
            let last = seen.start;
            new MutationObserver(() => seen.moves++).observe(document.querySelector("#line"), { attributes: true, attributeFilter: ["d"] });
            const next = now => {
                seen.frames++;
                seen.longest = Math.max(seen.longest, now - last);
                last = now;
                if (!seen.isOver) requestAnimationFrame(next);
            };
            requestAnimationFrame(next);
        }
        """;

    public static int Run() => RunAsync().GetAwaiter().GetResult();

    private static async Task<int> RunAsync()
    {
        string demos = Path.Combine(CheckBenchmarks.Root(), "demo");
        using Process program = Process.Start(new ProcessStartInfo(Path.Combine(CheckBenchmarks.Root(), "throughline"), ["workbench", demos, "--no-browser"]) { RedirectStandardOutput = true })!;
        Uri address = new((await program.StandardOutput.ReadLineAsync())!.Split(' ')[^1]);
        using IPlaywright playwright = await Playwright.CreateAsync();
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(new() { ExecutablePath = Environment.GetEnvironmentVariable("THROUGHLINE_CHROMIUM") ?? "/usr/bin/chromium", Args = ["--no-sandbox"] });
        Console.WriteLine("                       first page   first edits   line moved   findings   machine   review here   findings/review   frames/s   longest   moves/s");
        foreach (string demo in (string[])["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "duct-temperature"])
        {
            await DemoAsync(browser, address, demos, demo);
        }

        program.Kill(entireProcessTree: true);
        return 0;
    }

    private static async Task DemoAsync(IBrowser browser, Uri address, string demos, string demo)
    {
        string url = $"{address}chain?file={demo}%2Finstrument.yaml";
        IPage page = await browser.NewPageAsync(new() { ViewportSize = new() { Width = 1440, Height = 900 } });
        await OpenAsync(page, url);
        List<double> first = [];
        for (int i = 0; i < 5; i++)
        {
            long start = Stopwatch.GetTimestamp();
            await OpenAsync(page, url);
            first.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
        }

        await page.Locator("#counts[data-old='false']").WaitForAsync();
        await page.WaitForTimeoutAsync(Reading);
        double[][] firstEdits = await page.EvaluateAsync<double[][]>(EditScript, FirstEdits);
        List<double[]> edits = [];
        List<double> works = [];
        for (int i = 0; i < Edits; i++)
        {
            edits.AddRange(await page.EvaluateAsync<double[][]>(EditScript, 1));
            works.Add(FixedWork());
        }

        double machine = Median(works) / _leastWork;
        (double frames, double longest, double moves) = await DragAsync(page);
        string file = Path.Combine(demos, demo, "instrument.yaml");
        double review = 1e3 * Timing.Median(() => Reviewer.Review(InstrumentReader.ReadFile(file).Value!, FirmwareChecks.ByField));
        double findings = Median(edits.Select(e => e[1]));
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{demo,-22} {Median(first),7:F0} ms {Median(firstEdits.Select(e => e[1])),10:F0} ms   {Median(edits.Select(e => e[0])),7:F0} ms {findings,7:F0} ms {machine,8:F1}× {review,10:F0} ms {findings / review,17:F1} {frames,10:F0} {longest,6:F0} ms {moves,9:F0}"));
        await page.CloseAsync();
    }

    /// <summary>Seconds that a fixed piece of work takes now: one that keeps all of a processor's units busy, since two that share a processor hinder each other there.</summary>
    private static double FixedWork()
    {
        double[] numbers = new double[4096];
        long start = Stopwatch.GetTimestamp();
        for (int round = 0; round < 2000; round++)
        {
            for (int i = 0; i < numbers.Length; i++)
            {
                numbers[i] = (numbers[i] * 0.999) + i;
            }
        }

        double time = Stopwatch.GetElapsedTime(start).TotalSeconds;
        _leastWork = Math.Min(_leastWork, time);
        return time;
    }

    private static async Task OpenAsync(IPage page, string url)
    {
        await page.GotoAsync(url);
        await page.Locator(".cm-content").WaitForAsync();
        await page.Locator("#line[d^='M']").WaitForAsync(new() { State = WaitForSelectorState.Attached });
    }

    /// <summary>Drags the hand up and down for about two seconds.</summary>
    private static async Task<(double Frames, double Longest, double Moves)> DragAsync(IPage page)
    {
        LocatorBoundingBoxResult hand = (await page.Locator("#hand").BoundingBoxAsync())!;
        float x = hand.X + (hand.Width / 2);
        float y = hand.Y + (hand.Height / 2);
        await page.Mouse.MoveAsync(x, y);
        await page.Mouse.DownAsync();
        await page.EvaluateAsync(FrameScript);
        long start = Stopwatch.GetTimestamp();
        for (int i = 0; Stopwatch.GetElapsedTime(start).TotalSeconds < 2; i++)
        {
            await page.Mouse.MoveAsync(x, y + (float)(120 * Math.Sin(i * 0.08)));
        }

        double[] seen = await page.EvaluateAsync<double[]>("() => { const s = window.seen; s.isOver = true; const t = (performance.now() - s.start) / 1000; return [s.frames / t, s.longest, s.moves / t]; }");
        await page.Mouse.UpAsync();
        return (seen[0], seen[1], seen[2]);
    }

    private static double Median(IEnumerable<double> times)
    {
        double[] sorted = [.. times.Order()];
        return sorted[sorted.Length / 2];
    }
}
