namespace Throughline.Analysis;

/// <summary>The loop has the resistance that digital communication needs.</summary>
internal sealed class CommunicationLoadCheck : Check
{
    public override string Name => "load for communication";

    public override string MustHold => "The least resistance in the loop, receiver and barrier without cable, is at least what digital communication needs, and the greatest at most what it bears.";

    public override string Formula => "Least and greatest load against the stated ones.";

    public override string Source => "230 Ω at least, 250 Ω usual, 1100 Ω at most for frequency-shift keying of 1 mA peak to peak at 1200 and 2200 Hz, as restated by an application report and four pages; the specification itself was not seen.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { Communication: { } communication } loop)
        {
            yield break;
        }

        double least = communication.LeastLoad.Value;
        double greatest = communication.GreatestLoad?.Value ?? double.PositiveInfinity;
        double low = (loop.Load.Low / least) - 1;
        double high = 1 - (loop.Load.High / greatest);
        bool isLow = low < 0 || low <= high;
        double margin = Math.Min(low, high);
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            // At the limit and above it all is well: the rule itself holds the reserve.
            margin < 0 ? margin : 1,
            $"The loop has {Engineering.Range(loop.Load.Low, loop.Load.High, "Ω")}; communication needs {(double.IsFinite(greatest) ? Engineering.Range(least, greatest, "Ω") : "at least " + Engineering.Format(least, "Ω"))}.",
            [new Figure("least load", loop.Load.Low, "Ω"), new Figure("greatest load", loop.Load.High, "Ω"), new Figure("needed", least, "Ω"), new Figure("borne", greatest, "Ω")],
            isLow
                ? $"A receiver of at least {Engineering.Format(least - (loop.Barrier?.Low ?? 0), "Ω")}, or a resistor of what is missing in series with it."
                : $"A shorter or thicker cable, or a receiver of less than {Engineering.Format(greatest, "Ω")} with it.",
            loop.Receiver.Span);
    }
}
