using System.Runtime.CompilerServices;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the checks of one panel share.</summary>
internal sealed class PanelReview
{
    private static readonly ConditionalWeakTable<Instrument, PanelReview> Known = [];

    private readonly Lazy<PanelSpace> _space;

    private PanelReview(Instrument instrument)
    {
        Instrument = instrument;
        _space = new Lazy<PanelSpace>(() => new PanelSpace(new PanelMachine(instrument)));
    }

    public Instrument Instrument { get; }

    public PanelSection Panel => Instrument.Panel!;

    public PanelSpace Space => _space.Value;

    public PanelMachine Machine => Space.Machine;

    /// <summary>The review of an instrument whose panel has screens; null for others.</summary>
    public static PanelReview? Of(Instrument instrument) =>
        instrument.Panel is { Screens.IsEmpty: false } ? Known.GetValue(instrument, i => new PanelReview(i)) : null;

    /// <summary>Every screen in every language: its lines, and what their fields show.</summary>
    public IEnumerable<PanelPage> Pages()
    {
        foreach (PanelScreen screen in Panel.Screens)
        {
            yield return new PanelPage(screen, null, screen.Lines, screen.Shows, []);
            foreach (PanelTranslation t in screen.Translations)
            {
                yield return new PanelPage(screen, t.Language.Value, t.Lines, t.Shows.IsEmpty ? screen.Shows : t.Shows, t.Labels);
            }
        }
    }
}
