using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Pages;

/// <summary>Where what a finding speaks of is drawn.</summary>
/// <param name="Section">See <see cref="Link.Sections"/>.</param>
/// <param name="Stage">The circuit to show there; null for none.</param>
/// <param name="Id">Of the drawing or table on that page; null for the page itself.</param>
internal sealed record FindingPicture(string Section, string? Stage, string? Id)
{
    /// <summary>Checks whose picture is elsewhere than where their stage is.</summary>
    private static readonly ImmutableDictionary<string, FindingPicture> ByCheck = new Dictionary<string, FindingPicture>
    {
        ["response time"] = new("circuits", null, "response"),
        ["mains rejection"] = new("circuits", null, "response"),
        ["noise at the display"] = new("circuits", null, "noise"),
        ["amplifier stability"] = new("circuits", null, "stability"),
        ["fault signalling"] = new("circuits", null, "faults"),
        ["every node connected"] = new("circuits", null, null),
        ["accuracy at display"] = new("accuracy", null, "budget-causes"),
        ["accuracy at loop"] = new("accuracy", null, "budget-causes"),
        ["accuracy at output"] = new("accuracy", null, "budget-causes"),
        ["influence on the sensor"] = new("accuracy", null, "budget-causes"),
        ["calibration interval"] = new("accuracy", null, "budget-sums"),
        ["adjustment target agrees with the intent"] = new("adjustment", null, null),
        ["adjustment target within the trimmer's reach"] = new("adjustment", null, null),
        ["trim fineness"] = new("adjustment", null, null),
        ["adjustment order"] = new("adjustment", null, null),
        ["bench accurate enough"] = new("adjustment", null, null),
        ["loop follows the measurand"] = new("chain", null, null),
        ["output follows the measurand"] = new("chain", null, null),
        ["voltage scale agrees with the range"] = new("supplies", null, "loop-scale"),
        ["failure voltage distinct"] = new("supplies", null, "loop-scale"),
        ["measured voltages read as such"] = new("supplies", null, "loop-scale"),
        ["output drive"] = new("supplies", null, "compliance"),
        ["noise of the output"] = new("supplies", null, "loop-noise"),
        ["output steady at start-up"] = new("supplies", null, "start"),
        ["scale agrees with the range"] = new("supplies", null, "loop-scale"),
        ["failure current distinct"] = new("supplies", null, "loop-scale"),
        ["measured values read as such"] = new("supplies", null, "loop-scale"),
        ["loop compliance"] = new("supplies", null, "compliance"),
        ["noise of the loop"] = new("supplies", null, "loop-noise"),
        ["loop connected in reverse"] = new("supplies", null, "loop-conditions"),
        ["supply ripple"] = new("supplies", null, "ripple"),
        ["loop steady at start-up"] = new("supplies", null, "start"),
        ["output test range"] = new("firmware", null, "states"),
        ["arithmetic overflow"] = new("firmware", null, "numbers"),
        ["arithmetic rounding"] = new("firmware", null, "curve"),
        ["division by zero"] = new("firmware", null, "numbers"),
        ["calibration overflow"] = new("firmware", null, "calibration-numbers"),
        ["calibration rounding"] = new("firmware", null, "calibration-numbers"),
        ["editing a standard leaves the reading"] = new("panel", null, null),
    }.ToImmutableDictionary();

    /// <summary>Checks of which more is known than where their stage is.</summary>
    public static IEnumerable<string> Checks => ByCheck.Keys;

    /// <summary>The picture of a finding.</summary>
    public static FindingPicture Of(Finding finding, Instrument instrument) =>
        ByCheck.TryGetValue(finding.Check, out FindingPicture? known) ? known
        : instrument.Stages.OfType<CircuitStage>().Any(s => s.Name.Value == finding.Stage) ? new("circuits", finding.Stage, null)
        : finding.Stage switch
        {
            "memory" => new("firmware", null, "memory"),
            "panel" => new("panel", null, null),
            "loop" or "output" => new("supplies", null, "loop-head"),
            "supplies" => new("supplies", null, "rails"),
            _ => new("chain", null, null),
        };

    /// <summary>Of its page, as a word in a sentence.</summary>
    public string Title => Link.Sections.First(s => s.Word == Section).Title.ToLowerInvariant();

    /// <summary>Its address. The operating point stays as it is: the session has it.</summary>
    public string Address(string file)
    {
        string page = Link.To(Section, file);
        return (Stage is null ? page : Microsoft.AspNetCore.WebUtilities.QueryHelpers.AddQueryString(page, "stage", Stage)) + (Id is null ? "" : "#" + Id);
    }
}
